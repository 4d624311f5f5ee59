#include "weather/service_feed.hpp"

#include "base/random.hpp"
#include "host/clocks.hpp"

#include <algorithm>
#include <condition_variable>
#include <mutex>
#include <random>
#include <thread>

namespace firstmow::weather_source {

namespace {

constexpr std::size_t kMostWaiting = 4;

// What became of one question.
struct Outcome {
    std::optional<weather::Parcel> parcel; // also after "unchanged": the last one, as of now
    bool again = false;                    // the next question follows at once
    std::string trouble;                   // empty when all is well
    bool refused = false;
    std::optional<Seconds> wait; // what the server said of it
};

bool is_json(std::string_view content_type) {
    return content_type.find("json") != std::string_view::npos;
}

} // namespace

Millis wait_after_failure(const Pace& pace, int failures, bool refused,
                          std::optional<Seconds> retry_after) {
    Millis wait = pace.first_retry;
    for (int i = 1; i < failures && wait < pace.longest_retry; ++i)
        wait *= 2;
    wait = std::min(wait, pace.longest_retry);
    if (refused) wait = std::max(wait, pace.refused_retry);
    if (retry_after) wait = std::max<Millis>(wait, *retry_after);
    return std::min(wait, pace.longest_wait);
}

Millis wait_after_answer(const Pace& pace, std::optional<Seconds> fresh_for) {
    Millis wait = pace.every;
    if (fresh_for) wait = std::max<Millis>(wait, *fresh_for);
    return std::min(wait, std::max(pace.longest_wait, pace.every));
}

class ServiceFeed::Asker {
public:
    Asker(std::unique_ptr<Service> service, Setup setup)
        : service_(std::move(service)),
          setup_(std::move(setup)),
          random_(std::random_device{}()),
          thread_([this] { run(); }) {}

    ~Asker() {
        stop_ = true;
        {
            const std::lock_guard lock(mutex_);
            stopping_ = true;
        }
        wake_.notify_all();
        thread_.join();
    }

    std::vector<weather::Parcel> collect() {
        const std::lock_guard lock(mutex_);
        return std::exchange(parcels_, {});
    }
    FeedStatus status() const {
        const std::lock_guard lock(mutex_);
        return status_;
    }

private:
    void run() {
        Millis wait = jittered(setup_.pace.first_wait) / 2;
        while (sleep(wait)) {
            const Outcome outcome = ask();
            if (stop_) return;
            const std::lock_guard lock(mutex_);
            if (outcome.again) {
                wait = Millis{0};
                continue;
            }
            const WallTime now = host::wall_now();
            status_.last_tried = now;
            if (outcome.trouble.empty()) {
                status_.state = FeedStatus::State::ok;
                status_.last_good = now;
                status_.failures = 0;
                status_.detail.clear();
                if (outcome.parcel) parcels_.push_back(*outcome.parcel);
                if (parcels_.size() > kMostWaiting) parcels_.erase(parcels_.begin());
                wait = wait_after_answer(setup_.pace, outcome.wait);
            } else {
                status_.state = FeedStatus::State::failing;
                ++status_.failures;
                status_.detail = outcome.trouble;
                wait = wait_after_failure(setup_.pace, status_.failures, outcome.refused,
                                          outcome.wait);
            }
            wait = jittered(wait);
            status_.next_try = now + std::chrono::ceil<Seconds>(wait);
        }
    }

    // Never shorter: a Retry-After and an Expires are meant.
    Millis jittered(Millis wait) {
        const double longer = 1 + setup_.pace.jitter * random_.uniform();
        return Millis{static_cast<std::int64_t>(static_cast<double>(wait.count()) * longer)};
    }

    // False when it is time to end.
    bool sleep(Millis wait) {
        std::unique_lock lock(mutex_);
        return !wake_.wait_for(lock, wait, [this] { return stopping_; });
    }

    Outcome ask() {
        WebRequest request;
        const std::string path = service_->path();
        request.url = setup_.base + path;
        request.ca_file = setup_.ca_file;
        request.deadline = setup_.pace.deadline;
        request.headers = {{"User-Agent", setup_.user_agent},
                           {"Accept", "application/geo+json, application/json"}};
        if (asked_path_ == path) {
            if (last_modified_) request.headers.emplace_back("If-Modified-Since", *last_modified_);
            if (etag_) request.headers.emplace_back("If-None-Match", *etag_);
        }
        const Result<WebReply> reply = fetch(request, stop_);
        Outcome outcome;
        if (!reply)
            outcome.trouble = reply.error().message;
        else if (reply->status == 304 && last_)
            take_unchanged(*reply, outcome);
        else if (reply->status == 200 || reply->status == 203)
            take_answer(*reply, path, outcome);
        else
            take_refusal(*reply, outcome);
        return outcome;
    }

    void take_unchanged(const WebReply& reply, Outcome& outcome) {
        last_->retrieved = host::wall_now();
        outcome.parcel = last_;
        outcome.wait = reply.fresh_for;
    }

    void take_answer(const WebReply& reply, const std::string& path, Outcome& outcome) {
        if (!is_json(reply.content_type)) {
            outcome.trouble =
                "it answered with '" + reply.content_type.substr(0, 60) + "' where JSON is due";
            return;
        }
        auto read = service_->read(reply.body, host::wall_now());
        if (!read) {
            outcome.trouble = read.error().message;
            return;
        }
        if (!*read) {
            outcome.again = true;
            return;
        }
        last_ = std::move(**read);
        asked_path_ = path;
        last_modified_ = reply.last_modified;
        etag_ = reply.etag;
        outcome.parcel = last_;
        outcome.wait = reply.fresh_for;
    }

    void take_refusal(const WebReply& reply, Outcome& outcome) {
        outcome.trouble = "it answered " + std::to_string(reply.status);
        outcome.wait = reply.retry_after;
        outcome.refused = reply.status == 401 || reply.status == 403 || reply.status == 422 ||
                          reply.status == 400;
        if (reply.status == 403) outcome.trouble += " (it does not want to be asked by us)";
        if (reply.status == 422) outcome.trouble += " (it does not know this place)";
        if (reply.status == 429) outcome.trouble += " (it was asked too often)";
        // What was learnt of the server before may be what is wrong.
        if (reply.status == 404 || reply.status == 410) service_->begin_anew();
        asked_path_.clear();
    }

    std::unique_ptr<Service> service_; // of the thread, like all down to the mutex
    const Setup setup_;
    Random random_;
    std::optional<weather::Parcel> last_;
    std::string asked_path_; // of which the two below hold
    std::optional<std::string> last_modified_;
    std::optional<std::string> etag_;

    mutable std::mutex mutex_;
    std::condition_variable wake_;
    std::vector<weather::Parcel> parcels_;
    FeedStatus status_;
    bool stopping_ = false;
    std::atomic<bool> stop_{false};
    std::thread thread_; // last: it begins at once
};

ServiceFeed::ServiceFeed(std::unique_ptr<Service> service, Setup setup)
    : asker_(std::make_unique<Asker>(std::move(service), std::move(setup))) {}
ServiceFeed::~ServiceFeed() = default;

std::vector<weather::Parcel> ServiceFeed::collect(WallTime /*now*/) {
    return asker_->collect();
}
FeedStatus ServiceFeed::status(WallTime /*now*/) const {
    return asker_->status();
}

} // namespace firstmow::weather_source
