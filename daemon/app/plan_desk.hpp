// Makes renovation plans on a thread of its own: whether the tap can do it takes a second of work,
// and the control loop never waits.
#pragma once

#include "base/result.hpp"
#include "base/timezone.hpp"
#include "renovation/plan.hpp"

#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::app {

class PlanDesk {
public:
    using Answer = std::function<void(Result<std::string>)>;
    struct Question {
        garden::Garden garden;
        TimeZone local;
        std::string record_path; // the daily record; empty: none
        std::vector<renovation::LiveDates> live;
        renovation::FrostFrom frost = renovation::FrostFrom::record;
        bool calendar = false; // iCalendar instead of JSON
        WallTime now;          // stamp of the calendar
    };

    // Answers are given on the loop of `io`.
    explicit PlanDesk(boost::asio::io_context& io);
    ~PlanDesk(); // waits for the plan that is being made
    PlanDesk(const PlanDesk&) = delete;
    PlanDesk& operator=(const PlanDesk&) = delete;

    // `key` tells questions apart: the last few answers are kept. An Error when too many ask.
    void ask(std::string key, Question question, Answer answer);

private:
    struct Pool;
    void keep(std::string key, const Result<std::string>& plan);

    boost::asio::io_context& io_;
    int asked_ = 0;
    std::deque<std::pair<std::string, std::string>> kept_; // the newest last
    std::shared_ptr<bool> alive_; // answers that come later than this object go nowhere
    std::unique_ptr<Pool> pool_;
};

} // namespace firstmow::app
