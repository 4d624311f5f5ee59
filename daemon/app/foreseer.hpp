// Looks into the coming day on a thread of its own, for the page: the control loop never waits for
// it, and no order depends on it.
#pragma once

#include "engine/foresight.hpp"

#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::app {

class Foreseer {
public:
    using Answer = std::function<void(engine::Foresight)>;

    // Answers are given on the loop of `io`.
    explicit Foreseer(boost::asio::io_context& io);
    ~Foreseer(); // waits for what is being looked at, a second at most on a small board
    Foreseer(const Foreseer&) = delete;
    Foreseer& operator=(const Foreseer&) = delete;

    // Looks a day ahead from here. While it looks, only the newest call is kept.
    void look(const engine::Setup& setup, const engine::State& state, const engine::Moment& now,
              Answer answer);
    // What would come of these inputs? False when too many ask: then there is no answer.
    bool ask(const engine::Setup& setup, const engine::State& state, const engine::Moment& now,
             std::vector<engine::Input> first, Answer answer);
    // The garden has changed: what was found to be short was of another one.
    void forget();

private:
    struct Pool;
    struct Question {
        engine::Setup setup;
        engine::State state;
        engine::Moment now;
        std::vector<engine::Input> first;
        Answer answer;
        bool with_earth = false;
    };
    void work_on(std::shared_ptr<const Question> question, std::function<void()> then);
    void next_look();
    // What cannot be done in the coming week and what would help, every three hours.
    void study(std::shared_ptr<const Question> question);

    boost::asio::io_context& io_;
    std::shared_ptr<const Question> waiting_; // the newest look that has not begun
    std::shared_ptr<const Question> newest_;  // the newest look of all, of this garden
    bool looking_ = false;
    int asked_ = 0;
    bool studying_ = false;
    int garden_ = 0; // counts changes of the garden
    std::optional<WallTime> studied_;
    std::vector<engine::ShortfallView> shortfalls_; // the last that were found
    std::shared_ptr<std::atomic<bool>> go_on_;      // false: the pool shall end what it does
    std::shared_ptr<bool> alive_; // answers that come later than this object go nowhere
    std::unique_ptr<Pool> pool_;
};

} // namespace firstmow::app
