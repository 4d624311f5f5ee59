#include "faulty_disk.hpp"
#include "fixtures.hpp"
#include "store/worker.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <future>
#include <mutex>
#include <sqlite3.h>
#include <thread>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::store;
using namespace firstmow::store::test;

namespace {

Store open_store(const std::string& path, const std::string& vfs = "") {
    OpenOptions options;
    options.busy_ms = 0;
    options.vfs = vfs;
    Result<Store> store = Store::open(path, options);
    REQUIRE_MESSAGE(store.ok(), (store.ok() ? "" : store.error().message));
    return std::move(store).value();
}

WorkerOptions patient() { // nothing happens by itself within a test
    WorkerOptions options;
    options.telemetry_delay = std::chrono::hours(1'000);
    options.first_retry = std::chrono::hours(1'000);
    options.longest_retry = std::chrono::hours(1'000);
    return options;
}

// What a query sees.
template <class Look>
auto ask(StoreWorker& worker, Look look) {
    std::promise<decltype(look(std::declval<Store&>()))> answer;
    auto future = answer.get_future();
    REQUIRE(worker.query([&](Store& store) { answer.set_value(look(store)); }));
    return future.get();
}

// Words from the worker's thread.
class Words {
public:
    std::function<void(const Error&)> taker() {
        return [this](const Error& error) {
            const std::lock_guard lock(mutex_);
            words_.push_back(error.message);
        };
    }
    std::vector<std::string> all() {
        const std::lock_guard lock(mutex_);
        return words_;
    }

private:
    std::mutex mutex_;
    std::vector<std::string> words_;
};

Step telemetry(std::int64_t n) {
    Step s;
    s.records = {moisture(n)};
    return s;
}

std::string steps_in(const std::string& path, std::int64_t& n) {
    Store store = open_store(path);
    return whole_steps(store, n);
}

} // namespace

TEST_CASE("steps are written in order, and stop leaves a closed file") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    {
        StoreWorker worker(open_store(path), patient());
        for (int n = 1; n <= 500; ++n)
            REQUIRE(worker.post_step(step(n)).ok());
        REQUIRE(worker.stop().ok());
        CHECK_EQ(worker.waiting(), 0);
        CHECK(worker.stop().ok()); // twice is harmless
        CHECK_FALSE(worker.post_step(step(501)).ok());
        CHECK_FALSE(worker.flush().ok());
        CHECK_FALSE(worker.query([](Store&) {}));
    }
    CHECK_EQ(read_file(path + "-wal"), "");
    std::int64_t n = 0;
    CHECK_EQ(steps_in(path, n), "");
    CHECK_EQ(n, 500);
}

TEST_CASE("telemetry waits for company, and goes with what cannot wait, a query or a stop") {
    const TempDir dir;
    FaultyDisk disk;
    StoreWorker worker(open_store(dir.file("j.sqlite"), FaultyDisk::kName), patient());
    for (int n = 1; n <= 5; ++n)
        REQUIRE(worker.post_step(telemetry(n)).ok());
    std::this_thread::sleep_for(Millis(50)); // would have been written by now
    CHECK_EQ(worker.waiting(), 5);
    Step urgent;
    urgent.inputs = {input(1)};
    REQUIRE(worker.post_step(urgent).ok());
    while (worker.waiting() > 0) // no flush, no query: it goes by itself
        std::this_thread::yield();
    REQUIRE(worker.post_step(telemetry(6)).ok());
    const auto seen = ask(worker, [](Store& store) { return store.moisture().value(); });
    CHECK_EQ(seen.size(), 6);
    REQUIRE(worker.post_step(telemetry(7)).ok());
    REQUIRE(worker.stop().ok());
    Store store = open_store(dir.file("j.sqlite"));
    CHECK_EQ(store.moisture()->size(), 7);
}

TEST_CASE("telemetry alone is written when its time has come") {
    const TempDir dir;
    WorkerOptions options = patient();
    options.telemetry_delay = Millis(30);
    StoreWorker worker(open_store(dir.file("j.sqlite")), options);
    for (int n = 1; n <= 3; ++n) {
        REQUIRE(worker.post_step(telemetry(n)).ok());
        while (worker.waiting() > 0)
            std::this_thread::yield();
    }
    CHECK_EQ(ask(worker, [](Store& store) { return store.moisture()->size(); }), 3);
}

TEST_CASE("what cannot be written is kept, tried again and told") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    {
        FaultyDisk disk;
        Words words;
        std::atomic<int> recovered{0};
        WorkerOptions options = patient();
        options.on_trouble = words.taker();
        options.on_recovered = [&] { ++recovered; };
        Store store = open_store(path, FaultyDisk::kName);
        disk.fail_from = disk.operations + 1;
        disk.fail_count = 1'000'000'000;
        disk.fail_code = SQLITE_FULL;
        StoreWorker worker(std::move(store), options);
        for (int n = 1; n <= 20; ++n)
            REQUIRE(worker.post_step(step(n)).ok());
        const Status flushed = worker.flush();
        REQUIRE_FALSE(flushed.ok());
        CHECK(flushed.error().message.find("no room is left") != std::string::npos);
        CHECK(worker.in_trouble());
        CHECK_GT(worker.waiting(), 0);
        // Reading goes on meanwhile.
        CHECK_EQ(ask(worker, [](Store& s) { return s.inputs_after(0)->size(); }), 0);
        CHECK_FALSE(words.all().empty());
        CHECK_EQ(words.all().front(), flushed.error().message);

        // Room again. The thread is asleep (nothing is posted), so the disk may be changed.
        ask(worker, [&](Store&) { return disk.fail_from = 0; });
        REQUIRE(worker.flush().ok());
        CHECK_FALSE(worker.in_trouble());
        CHECK_EQ(recovered, 1);
        CHECK_EQ(worker.waiting(), 0);
        REQUIRE(worker.stop().ok());
    }
    std::int64_t n = 0;
    CHECK_EQ(steps_in(path, n), "");
    CHECK_EQ(n, 20);
}

TEST_CASE("retries come by themselves") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    {
        FaultyDisk disk;
        Words words;
        WorkerOptions options = patient();
        options.first_retry = Millis(1);
        options.longest_retry = Millis(4);
        options.on_trouble = words.taker();
        Store store = open_store(path, FaultyDisk::kName);
        disk.fail_from = disk.operations + 1;
        disk.fail_count = 6;
        StoreWorker worker(std::move(store), options);
        REQUIRE(worker.post_step(step(1)).ok());
        while (worker.waiting() > 0)
            std::this_thread::yield();
        CHECK_GT(words.all().size(), 2);
        REQUIRE(worker.stop().ok());
    }
    std::int64_t n = 0;
    CHECK_EQ(steps_in(path, n), "");
    CHECK_EQ(n, 1);
}

TEST_CASE("what can never be written is left out and does not hold up the rest") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    Words words;
    {
        WorkerOptions options = patient();
        options.on_trouble = words.taker();
        StoreWorker worker(open_store(path), options);
        Step odd = step(1);
        engine::Moisture m = moisture(77);
        m.seed_zone_kpa = std::nan("");
        odd.records.emplace_back(m);
        REQUIRE(worker.post_step(odd).ok());
        Step clash;
        clash.inputs = {input(1)};
        clash.inputs[0].body = "{}";
        REQUIRE(worker.post_step(clash).ok());
        REQUIRE(worker.post_step(step(2)).ok());
        REQUIRE(worker.flush().ok());
        CHECK_EQ(worker.waiting(), 0);
        REQUIRE(worker.stop().ok());
    }
    const auto told = words.all();
    REQUIRE_EQ(told.size(), 2);
    CHECK_EQ(told[0], "a moisture line for the journal has a number that is not finite");
    CHECK_EQ(told[1], path + ": refused an entry: input 1 is already there with another content"
                             "; the step was left out");
    std::int64_t n = 0;
    CHECK_EQ(steps_in(path, n), "");
    CHECK_EQ(n, 2);
}

TEST_CASE("the queue is bounded: telemetry is shed first, then no more is taken") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    {
        FaultyDisk disk;
        Words words;
        WorkerOptions options = patient();
        options.on_trouble = words.taker();
        options.most_waiting = 100;
        Store store = open_store(path, FaultyDisk::kName);
        disk.fail_from = disk.operations + 1;
        disk.fail_count = 1'000'000'000;
        StoreWorker worker(std::move(store), options);
        Step first;
        first.inputs = {input(1)};
        REQUIRE(worker.post_step(first).ok());
        REQUIRE_FALSE(worker.flush().ok());
        for (int n = 1; n <= 300; ++n) { // far more than fits
            REQUIRE(worker.post_step(telemetry(n)).ok());
            ask(worker, [](Store&) { return 0; });
        }
        CHECK_LE(worker.waiting(), 51);
        std::int64_t seq = 1;
        Status taken = Done{};
        while (taken.ok() && seq < 1'000) {
            Step more;
            more.inputs = {input(++seq)};
            taken = worker.post_step(more);
            ask(worker, [](Store&) { return 0; });
        }
        CHECK_EQ(seq, 101); // 1 and 99 more were taken; the telemetry made room
        CHECK_EQ(worker.waiting(), 100);
        ask(worker, [&](Store&) { return disk.fail_from = 0; });
        REQUIRE(worker.stop().ok());
        // Said once, however much is given up; the write that fails may have been tried twice.
        const auto all = words.all();
        CHECK_EQ(std::count_if(all.begin(), all.end(),
                               [](const std::string& sentence) {
                                   return sentence.find("given up") != std::string::npos;
                               }),
                 1);
        CHECK_LE(all.size(), 3);
    }
    Store store = open_store(path);
    CHECK_EQ(store.inputs_after(0)->size(), 100);
}

TEST_CASE("one step larger than the queue is taken when nothing waits") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    WorkerOptions options = patient();
    options.most_waiting = 10;
    {
        StoreWorker worker(open_store(path), options);
        Step months;
        for (int n = 1; n <= 50; ++n)
            months.inputs.push_back(input(n));
        REQUIRE(worker.post_step(months).ok());
        REQUIRE(worker.stop().ok());
    }
    CHECK_EQ(open_store(path).inputs_after(0)->size(), 50);
}

TEST_CASE("what is lost at a stop is said") {
    const TempDir dir;
    FaultyDisk disk;
    Store store = open_store(dir.file("j.sqlite"), FaultyDisk::kName);
    disk.fail_from = disk.operations + 1;
    disk.fail_count = 1'000'000'000;
    StoreWorker worker(std::move(store), patient());
    Step s;
    s.inputs = {input(1), input(2)};
    REQUIRE(worker.post_step(s).ok());
    const Status stopped = worker.stop();
    REQUIRE_FALSE(stopped.ok());
    CHECK(stopped.error().message.ends_with("; 2 entries of the journal are lost"));
}

TEST_CASE("readers and writers on many threads see whole steps only") {
    const TempDir dir;
    StoreWorker worker(open_store(dir.file("j.sqlite")), WorkerOptions{});
    std::atomic<int> wrong{0};
    std::atomic<int> asked{0};
    std::vector<std::thread> readers;
    for (int i = 0; i < 3; ++i)
        readers.emplace_back([&] {
            for (int j = 0; j < 15; ++j) {
                std::promise<bool> whole;
                auto answer = whole.get_future();
                const bool taken = worker.query([&](Store& store) {
                    std::int64_t n = 0;
                    whole.set_value(whole_steps(store, n).empty());
                });
                if (!taken) continue;
                ++asked;
                if (!answer.get()) ++wrong;
            }
        });
    for (int n = 1; n <= 200; ++n)
        REQUIRE(worker.post_step(step(n)).ok());
    for (std::thread& reader : readers)
        reader.join();
    CHECK_EQ(wrong, 0);
    CHECK_EQ(asked, 45);
    REQUIRE(worker.stop().ok());
}

TEST_CASE("queries are bounded, and one that leaves a transaction open does no harm") {
    const TempDir dir;
    WorkerOptions options = patient();
    options.most_queries = 2;
    Words words;
    options.on_trouble = words.taker();
    StoreWorker worker(open_store(dir.file("j.sqlite")), options);
    std::promise<void> release;
    std::shared_future<void> released = release.get_future().share();
    REQUIRE(worker.query([released](Store& store) {
        released.wait();
        REQUIRE(store.begin().ok());
        REQUIRE(store.append_input(1, input(1).at, "hour", "{}").ok());
    }));
    REQUIRE(worker.query([](Store&) {}));
    CHECK_FALSE(worker.query([](Store&) {}));
    release.set_value();
    REQUIRE(worker.flush().ok());
    REQUIRE(worker.post_step(step(1)).ok());
    CHECK_EQ(ask(worker,
                 [](Store& store) {
                     std::int64_t n = 0;
                     const std::string wrong = whole_steps(store, n);
                     return wrong + std::to_string(n);
                 }),
             "1");
    CHECK(words.all() == std::vector<std::string>{});
}

TEST_CASE("a second worker on the same file is refused") {
    const TempDir dir;
    const StoreWorker first(open_store(dir.file("j.sqlite")), patient());
    OpenOptions options;
    options.busy_ms = 0;
    const Result<Store> second = Store::open(dir.file("j.sqlite"), options);
    REQUIRE_FALSE(second.ok());
    CHECK(second.error().message.find("is in use by another process") != std::string::npos);
}
