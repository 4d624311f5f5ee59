#include "app/plan_desk.hpp"

#include "host/files.hpp"
#include "tables/plan_json.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

namespace firstmow::app {

namespace {

constexpr int kMostQuestions = 4;
constexpr std::size_t kMostKept = 8;

Result<std::string> make(const PlanDesk::Question& question) {
    std::vector<renovation::DailyAir> record;
    if (!question.record_path.empty()) {
        const auto text = host::read_file(question.record_path);
        if (!text) return Error{"the daily record of the garden file cannot be read"};
        auto days = renovation::read_record(*text);
        if (!days) return Error{"the daily record of the garden file: " + days.error().message};
        record = std::move(*days);
    }
    if (question.calendar)
        return renovation::ical(
            renovation::plan_dates(question.garden, record, question.live, question.frost),
            question.now);
    return tables::plan_json(
        renovation::plan(question.garden, question.local, record, question.live, question.frost));
}

} // namespace

struct PlanDesk::Pool {
    boost::asio::thread_pool threads{1};
};

PlanDesk::PlanDesk(boost::asio::io_context& io)
    : io_(io), alive_(std::make_shared<bool>(true)), pool_(std::make_unique<Pool>()) {}

PlanDesk::~PlanDesk() {
    *alive_ = false;
    pool_->threads.stop();
    pool_->threads.join();
}

void PlanDesk::keep(std::string key, const Result<std::string>& plan) {
    if (!plan) return;
    kept_.emplace_back(std::move(key), *plan);
    if (kept_.size() > kMostKept) kept_.pop_front();
}

void PlanDesk::ask(std::string key, Question question, Answer answer) {
    for (const auto& [asked, plan] : kept_)
        if (asked == key) return answer(plan);
    if (asked_ >= kMostQuestions)
        return answer(Error{"too many ask for a plan; ask again in a moment"});
    ++asked_;
    boost::asio::post(pool_->threads, [this, alive = alive_, key = std::move(key),
                                       question = std::move(question),
                                       answer = std::move(answer)]() mutable {
        auto plan = make(question);
        boost::asio::post(io_, [this, alive = std::move(alive), key = std::move(key),
                                answer = std::move(answer), plan = std::move(plan)]() mutable {
            if (!*alive) return;
            --asked_;
            keep(std::move(key), plan);
            answer(std::move(plan));
        });
    });
}

} // namespace firstmow::app
