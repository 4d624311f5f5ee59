#include "app/foreseer.hpp"

#include "engine/shortfalls.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include <sys/resource.h>
#include <unistd.h>

namespace firstmow::app {

namespace {

constexpr Seconds kDay{24 * 3600};
constexpr int kMostQuestions = 4;
constexpr Seconds kWeek{7 * 24 * 3600};
constexpr Seconds kStudyEvery{3 * 3600};

// Looking ahead must not make an order wait on a board with few cores. Where it is not allowed the
// threads are as before.
void step_back() {
    constexpr int kNice = 10;
    (void)::setpriority(PRIO_PROCESS, static_cast<id_t>(::gettid()), kNice);
}

} // namespace

struct Foreseer::Pool {
    Pool() {
        boost::asio::post(threads, step_back);
        boost::asio::post(study, step_back);
    }
    boost::asio::thread_pool threads{1};
    boost::asio::thread_pool study{1}; // takes long, and nobody waits for it
};

Foreseer::Foreseer(boost::asio::io_context& io)
    : io_(io),
      go_on_(std::make_shared<std::atomic<bool>>(true)),
      alive_(std::make_shared<bool>(true)),
      pool_(std::make_unique<Pool>()) {}

Foreseer::~Foreseer() {
    *alive_ = false;
    *go_on_ = false;
    pool_->threads.stop();
    pool_->study.stop();
    pool_->threads.join();
    pool_->study.join();
}

void Foreseer::work_on(std::shared_ptr<const Question> question, std::function<void()> then) {
    boost::asio::post(pool_->threads, [this, alive = alive_, question = std::move(question),
                                       then = std::move(then)]() mutable {
        auto seen = engine::foresee(question->setup, question->state, question->now, kDay,
                                    question->first, question->with_earth);
        boost::asio::post(io_, [this, alive = std::move(alive), question = std::move(question),
                                then = std::move(then), seen = std::move(seen)]() mutable {
            if (!*alive) return;
            seen.shortfalls = shortfalls_;
            then();
            question->answer(std::move(seen));
        });
    });
}

void Foreseer::look(const engine::Setup& setup, const engine::State& state,
                    const engine::Moment& now, Answer answer) {
    waiting_ =
        std::make_shared<const Question>(Question{setup, state, now, {}, std::move(answer), true});
    if (!looking_) next_look();
}

void Foreseer::next_look() {
    looking_ = waiting_ != nullptr;
    if (!looking_) return;
    study(waiting_);
    newest_ = waiting_;
    work_on(std::exchange(waiting_, nullptr), [this] { next_look(); });
}

void Foreseer::study(std::shared_ptr<const Question> question) {
    const WallTime now = question->now.wall;
    if (studying_ || !question->state.begun) return;
    if (studied_ && now >= *studied_ && now - *studied_ < kStudyEvery) return;
    studying_ = true;
    studied_ = now;
    boost::asio::post(pool_->study, [this, alive = alive_, go_on = go_on_, garden = garden_,
                                     question = std::move(question)] {
        auto found = engine::shortfalls(question->setup, question->state, question->now, kWeek,
                                        [go_on] { return go_on->load(); });
        boost::asio::post(io_, [this, alive, garden, found = std::move(found)]() mutable {
            if (!*alive) return;
            studying_ = false;
            if (garden != garden_) return;
            const bool news = !found.empty() || !shortfalls_.empty();
            shortfalls_ = std::move(found);
            // They are shown with a look; the next may be a quarter of an hour away.
            if (news && !waiting_) waiting_ = newest_;
            if (!looking_) next_look();
        });
    });
}

void Foreseer::forget() {
    shortfalls_.clear();
    studied_.reset();
    newest_.reset();
    ++garden_;
}

bool Foreseer::ask(const engine::Setup& setup, const engine::State& state,
                   const engine::Moment& now, std::vector<engine::Input> first, Answer answer) {
    if (asked_ >= kMostQuestions) return false;
    ++asked_;
    work_on(std::make_shared<const Question>(
                Question{setup, state, now, std::move(first), std::move(answer), false}),
            [this] { --asked_; });
    return true;
}

} // namespace firstmow::app
