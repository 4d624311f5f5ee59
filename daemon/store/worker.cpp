#include "store/worker.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <thread>
#include <utility>
#include <variant>
#include <vector>

namespace firstmow::store {

namespace {

using Clock = std::chrono::steady_clock;

bool is_telemetry(const engine::Record& record) {
    return std::holds_alternative<engine::Moisture>(record) ||
           std::holds_alternative<engine::WeatherUsed>(record) ||
           std::holds_alternative<engine::ForecastSaid>(record);
}

// Whether anything in the step may not wait.
bool urgent(const Step& step) {
    if (!step.inputs.empty() || !step.opened.empty() || !step.closed.empty() || step.snapshot)
        return true;
    return !std::all_of(step.records.begin(), step.records.end(), is_telemetry);
}

std::size_t entries(const Step& step) {
    return step.inputs.size() + step.records.size() + step.opened.size() + step.closed.size() +
           (step.snapshot ? 1U : 0U);
}

struct QueryJob {
    std::function<void(Store&)> work;
};
struct FlushJob {
    std::function<void(Status)> done;
};
struct UpkeepJob {
    WallTime now;
};
using Job = std::variant<Step, QueryJob, FlushJob, UpkeepJob>;

} // namespace

struct StoreWorker::Impl {
    Impl(Store opened, WorkerOptions chosen)
        : options(std::move(chosen)), store(std::move(opened)) {}

    const WorkerOptions options;
    std::atomic<std::size_t> waiting{0};
    std::atomic<bool> trouble{false};

    // --- Shared, under the mutex.
    mutable std::mutex mutex;
    std::condition_variable wake;
    std::deque<Job> jobs;
    std::size_t queries = 0;
    bool stopping = false;

    std::mutex join_mutex; // one stop() at a time
    std::thread thread;
    Status last_word = Done{}; // of the thread, read after it was joined

    // --- Of the worker's thread alone.
    std::optional<Store> store;
    std::vector<Step> held; // posted, not yet written
    bool pressing = false;  // something urgent is held
    std::optional<Clock::time_point> telemetry_due;
    std::optional<Clock::time_point> retry_at;
    Millis retry_wait{0};
    bool shed_told = false; // once per trouble

    void run();
    std::deque<Job> next_jobs();
    void take(Step step);
    void handle(Job job);
    bool may_try() const { return !retry_at || Clock::now() >= *retry_at; }
    Status write_held();
    Status write_one_by_one();
    void written();
    void failed(const Error& error);
    void shed_telemetry();
    void finish();
    void report(const Error& error) const {
        if (options.on_trouble) options.on_trouble(error);
    }
};

// Sleeps until there is a job, or until what is held is due.
std::deque<Job> StoreWorker::Impl::next_jobs() {
    std::optional<Clock::time_point> due;
    if (pressing) due = Clock::now();
    if (!held.empty() && telemetry_due && !due) due = telemetry_due;
    if (due && retry_at) due = std::max(*due, *retry_at);

    std::unique_lock lock(mutex);
    const auto called = [this] { return !jobs.empty() || stopping; };
    if (due) {
        wake.wait_until(lock, *due, called);
    } else {
        wake.wait(lock, called);
    }
    return std::exchange(jobs, {});
}

void StoreWorker::Impl::run() {
    while (true) {
        for (Job& job : next_jobs())
            handle(std::move(job));
        const bool due = pressing || (telemetry_due && Clock::now() >= *telemetry_due);
        if (due && may_try()) (void)write_held();
        const std::lock_guard lock(mutex);
        if (stopping && jobs.empty()) break;
    }
    finish();
}

void StoreWorker::Impl::handle(Job job) {
    if (auto* step = std::get_if<Step>(&job)) {
        take(std::move(*step));
    } else if (auto* query = std::get_if<QueryJob>(&job)) {
        if (may_try()) (void)write_held();
        query->work(*store);
        store->rollback(); // in case the query left something open
    } else if (auto* flush = std::get_if<FlushJob>(&job)) {
        flush->done(write_held());
    } else if (const auto* upkeep = std::get_if<UpkeepJob>(&job)) {
        Status done = write_held();
        if (done.ok()) done = store->upkeep(upkeep->now);
        if (!done.ok()) report(done.error());
    }
}

void StoreWorker::Impl::take(Step step) {
    // A number that is not finite would block everything behind it.
    waiting -= std::erase_if(step.records, [this](const engine::Record& record) {
        Status fine = writable(record);
        if (!fine.ok()) report(fine.error());
        return !fine.ok();
    });
    if (entries(step) == 0) return;
    if (urgent(step)) {
        pressing = true;
    } else if (!telemetry_due) {
        telemetry_due = Clock::now() + options.telemetry_delay;
    }
    held.push_back(std::move(step));
    if (trouble && waiting > options.most_waiting / 2) shed_telemetry();
}

Status StoreWorker::Impl::write_held() {
    if (held.empty()) return Done{};
    Status done = store->write(held);
    if (!done.ok() && store->fault() == Fault::refused) done = write_one_by_one();
    if (!done.ok()) {
        failed(done.error());
        return done;
    }
    written();
    return done;
}

// Something in the batch can never be written: find it, so that it does not block the rest.
Status StoreWorker::Impl::write_one_by_one() {
    std::size_t past = 0;
    Status outcome = Done{};
    while (past < held.size()) {
        Status done = store->write(held[past]);
        if (!done.ok() && store->fault() != Fault::refused) {
            outcome = done;
            break;
        }
        if (!done.ok()) report(Error{done.error().message + "; the step was left out"});
        ++past;
    }
    if (!outcome.ok()) {
        std::size_t gone = 0;
        for (std::size_t i = 0; i < past; ++i)
            gone += entries(held[i]);
        held.erase(held.begin(), held.begin() + static_cast<std::ptrdiff_t>(past));
        waiting -= gone;
    }
    return outcome;
}

void StoreWorker::Impl::written() {
    std::size_t gone = 0;
    for (const Step& step : held)
        gone += entries(step);
    waiting -= gone;
    held.clear();
    pressing = false;
    telemetry_due.reset();
    retry_at.reset();
    retry_wait = Millis{0};
    shed_told = false;
    if (trouble.exchange(false) && options.on_recovered) options.on_recovered();
}

void StoreWorker::Impl::failed(const Error& error) {
    trouble = true;
    pressing = true; // telemetry as well: it is tried again at retry_at
    retry_wait = retry_wait == Millis{0} ? options.first_retry
                                         : std::min(retry_wait * 2, options.longest_retry);
    retry_at = Clock::now() + retry_wait;
    report(error);
}

void StoreWorker::Impl::shed_telemetry() {
    std::size_t shed = 0;
    for (Step& step : held)
        shed += std::erase_if(step.records, is_telemetry);
    std::erase_if(held, [](const Step& step) { return entries(step) == 0; });
    waiting -= shed;
    if (shed > 0 && !std::exchange(shed_told, true))
        report(
            Error{store->path() + ": too much waits to be written; " + std::to_string(shed) +
                  " lines of moisture and weather are given up, and all that follow till it can"});
}

void StoreWorker::Impl::finish() {
    Status done = write_held();
    if (!done.ok()) {
        last_word = Error{done.error().message + "; " + std::to_string(waiting.load()) +
                          " entries of the journal are lost"};
    } else {
        last_word = store->checkpoint();
    }
    store.reset();
}

StoreWorker::StoreWorker(Store store, WorkerOptions options)
    : impl_(std::make_unique<Impl>(std::move(store), std::move(options))) {
    impl_->thread = std::thread([impl = impl_.get()] { impl->run(); });
}

StoreWorker::~StoreWorker() {
    (void)stop();
}

Status StoreWorker::post_step(Step step) {
    const std::size_t count = entries(step);
    if (count == 0) return Done{};
    {
        const std::lock_guard lock(impl_->mutex);
        if (impl_->stopping) return Error{"the journal is closed"};
        // One step alone is always taken, however large: a first start may bring months of weather.
        if (impl_->waiting > 0 && impl_->waiting + count > impl_->options.most_waiting)
            return Error{"the journal cannot be written and no more can wait for it"};
        impl_->waiting += count;
        impl_->jobs.emplace_back(std::move(step));
    }
    impl_->wake.notify_one();
    return Done{};
}

bool StoreWorker::query(std::function<void(Store&)> work) {
    {
        const std::lock_guard lock(impl_->mutex);
        if (impl_->stopping || impl_->queries >= impl_->options.most_queries) return false;
        ++impl_->queries;
        impl_->jobs.emplace_back(QueryJob{[this, work = std::move(work)](Store& store) {
            work(store);
            const std::lock_guard done(impl_->mutex);
            --impl_->queries;
        }});
    }
    impl_->wake.notify_one();
    return true;
}

Status StoreWorker::flush() {
    struct Answer {
        std::mutex mutex;
        std::condition_variable come;
        std::optional<Status> status;
    };
    const auto answer = std::make_shared<Answer>();
    {
        const std::lock_guard lock(impl_->mutex);
        if (impl_->stopping) return Error{"the journal is closed"};
        impl_->jobs.emplace_back(FlushJob{[answer](Status status) {
            const std::lock_guard held(answer->mutex);
            answer->status = std::move(status);
            answer->come.notify_all();
        }});
    }
    impl_->wake.notify_one();
    std::unique_lock lock(answer->mutex);
    answer->come.wait(lock, [&] { return answer->status.has_value(); });
    return *answer->status;
}

void StoreWorker::post_upkeep(WallTime now) {
    {
        const std::lock_guard lock(impl_->mutex);
        if (impl_->stopping) return;
        impl_->jobs.emplace_back(UpkeepJob{now});
    }
    impl_->wake.notify_one();
}

Status StoreWorker::stop() {
    const std::lock_guard one(impl_->join_mutex);
    {
        const std::lock_guard lock(impl_->mutex);
        impl_->stopping = true;
    }
    impl_->wake.notify_one();
    if (impl_->thread.joinable()) impl_->thread.join();
    return impl_->last_word;
}

std::size_t StoreWorker::waiting() const {
    return impl_->waiting;
}
bool StoreWorker::in_trouble() const {
    return impl_->trouble;
}

} // namespace firstmow::store
