#include "app/foreseer.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

namespace firstmow::app {

namespace {

constexpr Seconds kDay{24 * 3600};
constexpr int kMostQuestions = 4;

} // namespace

struct Foreseer::Pool {
    boost::asio::thread_pool threads{1};
};

Foreseer::Foreseer(boost::asio::io_context& io)
    : io_(io), alive_(std::make_shared<bool>(true)), pool_(std::make_unique<Pool>()) {}

Foreseer::~Foreseer() {
    *alive_ = false;
    pool_->threads.stop();
    pool_->threads.join();
}

void Foreseer::work_on(std::shared_ptr<const Question> question, std::function<void()> then) {
    boost::asio::post(pool_->threads, [this, alive = alive_, question = std::move(question),
                                       then = std::move(then)]() mutable {
        auto seen =
            engine::foresee(question->setup, question->state, question->now, kDay, question->first);
        boost::asio::post(io_, [alive = std::move(alive), question = std::move(question),
                                then = std::move(then), seen = std::move(seen)]() mutable {
            if (!*alive) return;
            then();
            question->answer(std::move(seen));
        });
    });
}

void Foreseer::look(const engine::Setup& setup, const engine::State& state,
                    const engine::Moment& now, Answer answer) {
    waiting_ = std::make_shared<const Question>(Question{setup, state, now, {}, std::move(answer)});
    if (!looking_) next_look();
}

void Foreseer::next_look() {
    looking_ = waiting_ != nullptr;
    if (!looking_) return;
    work_on(std::exchange(waiting_, nullptr), [this] { next_look(); });
}

bool Foreseer::ask(const engine::Setup& setup, const engine::State& state,
                   const engine::Moment& now, std::vector<engine::Input> first, Answer answer) {
    if (asked_ >= kMostQuestions) return false;
    ++asked_;
    work_on(std::make_shared<const Question>(
                Question{setup, state, now, std::move(first), std::move(answer)}),
            [this] { --asked_; });
    return true;
}

} // namespace firstmow::app
