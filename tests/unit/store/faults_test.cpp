// Power cuts, kills, full disks and failing writes: what was acknowledged is there, whole, and
// nothing is there by half.
#include "faulty_disk.hpp"
#include "fixtures.hpp"
#include "store/store.hpp"
#include "store/worker.hpp"

#include <csignal>
#include <filesystem>
#include <iostream>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::store;
using namespace firstmow::store::test;

namespace {

constexpr std::int64_t kSteps = 8;

OpenOptions on_faulty_disk() {
    OpenOptions options;
    options.busy_ms = 0;
    options.vfs = FaultyDisk::kName;
    return options;
}

struct Story {
    std::int64_t acknowledged = 0;
    std::int64_t refused = 0;
};

// Opens, writes the steps (each again after a failure, `tries` times in all), empties the log in
// the middle, closes.
Story play(const std::string& path, int tries) {
    Story story;
    for (int attempt = 0; attempt < tries; ++attempt) {
        Result<Store> store = Store::open(path, on_faulty_disk());
        if (!store.ok()) {
            ++story.refused;
            continue;
        }
        for (std::int64_t n = 1; n <= kSteps; ++n) {
            for (int once = 0; once < tries && story.acknowledged < n; ++once) {
                if (store->write(step(n)).ok()) {
                    story.acknowledged = n;
                } else {
                    ++story.refused;
                }
            }
            if (story.acknowledged < n) return story;
            if (n == kSteps / 2 && !store->checkpoint().ok()) ++story.refused;
        }
        return story;
    }
    return story;
}

// Opens what is left over the system's own disk: what is wrong with it, or "".
std::string inspect(const std::string& path, std::int64_t& n) {
    OpenOptions options;
    options.durable = false; // nothing is lost here any more
    Result<Store> store = Store::open(path, options);
    return store.ok() ? whole_steps(*store, n) : store.error().message;
}

} // namespace

TEST_CASE("a single failing write, sync or deletion anywhere loses nothing") {
    std::int64_t failures = 0;
    for (const int code : {0, SQLITE_FULL}) {
        for (std::int64_t k = 1;; ++k) {
            const TempDir dir;
            FaultyDisk disk;
            disk.fail_from = k;
            disk.fail_code = code;
            const Story story = play(dir.file("j.sqlite"), 2);
            if (disk.operations < k) break; // past the end
            failures += story.refused;
            INFO("operation " << k << ", code " << code);
            CHECK_EQ(story.acknowledged, kSteps);
            std::int64_t n = -1;
            CHECK_EQ(inspect(dir.file("j.sqlite"), n), "");
            CHECK_EQ(n, kSteps);
        }
    }
    CHECK_GT(failures, 100); // the faults did reach the store
}

TEST_CASE("a kill or a power cut at any operation keeps every acknowledged step, whole") {
    std::int64_t cuts = 0;
    for (const Cut cut : {Cut::killed, Cut::torn, Cut::unsynced}) {
        for (std::int64_t k = 1;; ++k) {
            const TempDir dir;
            FaultyDisk disk;
            disk.fail_from = k;
            disk.fail_count = 1'000'000'000; // for good
            disk.torn = cut == Cut::torn;
            const Story story = play(dir.file("j.sqlite"), 1);
            if (disk.operations < k) break;
            if (cut == Cut::unsynced) disk.take_back_unsynced();
            ++cuts;
            INFO("operation " << k << ", cut " << static_cast<int>(cut));
            std::int64_t n = -1;
            CHECK_EQ(inspect(dir.file("j.sqlite"), n), "");
            // The one that failed may have come through whole; no further one can.
            CHECK_GE(n, story.acknowledged);
            CHECK_LE(n, story.acknowledged + 1);
        }
    }
    CHECK_GT(cuts, 200);
}

TEST_CASE("every commit is synced, unless the file can be made again") {
    for (const bool durable : {true, false}) {
        const TempDir dir;
        FaultyDisk disk;
        OpenOptions options = on_faulty_disk();
        options.durable = durable;
        Result<Store> store = Store::open(dir.file("j.sqlite"), options);
        REQUIRE(store.ok());
        const std::int64_t before = disk.syncs;
        for (int n = 1; n <= 10; ++n)
            REQUIRE(store->write(step(n)).ok());
        CHECK_EQ(disk.syncs - before, durable ? 10 : 0);
    }
}

TEST_CASE("a full disk is an error, and the same step is taken when there is room again") {
    const TempDir dir;
    FaultyDisk disk;
    Result<Store> store = Store::open(dir.file("j.sqlite"), on_faulty_disk());
    REQUIRE(store.ok());
    REQUIRE(store->write(step(1)).ok());
    disk.fail_from = disk.operations + 1;
    disk.fail_count = 1'000'000'000;
    disk.fail_code = SQLITE_FULL;
    for (int i = 0; i < 3; ++i) {
        const Status done = store->write(step(2));
        REQUIRE_FALSE(done.ok());
        CHECK_EQ(done.error().message, dir.file("j.sqlite") + ": could not be written: no room is "
                                                              "left; free some space on the disk");
        CHECK(store->fault() == Fault::full);
        std::int64_t n = 0;
        CHECK_EQ(whole_steps(*store, n), ""); // reading goes on
        CHECK_EQ(n, 1);
    }
    // Within a larger transaction, too: nothing after the failure slips in by itself.
    Status begun = store->begin();
    if (begun.ok()) {
        (void)store->write(step(2));
        CHECK_FALSE(store->commit().ok());
    }
    disk.fail_from = 0;
    CHECK(store->write(step(2)).ok());
    std::int64_t n = 0;
    CHECK_EQ(whole_steps(*store, n), "");
    CHECK_EQ(n, 2);
}

TEST_CASE("kill -9 in the middle of writing, thirty times over one file") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    std::int64_t n = 0;
    unsigned delay_us = 9'000;
    for (int round = 0; round < 30; ++round) {
        int ends[2];
        REQUIRE_EQ(pipe(ends), 0);
        std::cout.flush(); // or the child may say it again
        const pid_t child = fork();
        REQUIRE_GE(child, 0);
        if (child == 0) {
            Result<Store> store = Store::open(path);
            if (!store.ok()) _exit(1);
            for (std::int64_t next = n + 1;; ++next) {
                if (!store->write(step(next)).ok()) _exit(2);
                if (write(ends[1], &next, sizeof next) != sizeof next) _exit(3);
                if (next % 40 == 0 && !store->checkpoint().ok()) _exit(4);
            }
        }
        close(ends[1]);
        // It is writing once the first acknowledgement has come; then at no particular moment.
        std::int64_t acknowledged = n;
        std::int64_t one = 0;
        REQUIRE_EQ(read(ends[0], &one, sizeof one), static_cast<ssize_t>(sizeof one));
        acknowledged = one;
        delay_us = (delay_us * 7 + 1'237) % 20'011;
        usleep(delay_us);
        kill(child, SIGKILL);
        int status = 0;
        waitpid(child, &status, 0);
        REQUIRE(WIFSIGNALED(status));
        while (read(ends[0], &one, sizeof one) == static_cast<ssize_t>(sizeof one))
            acknowledged = one;
        close(ends[0]);

        INFO("round " << round);
        REQUIRE_EQ(inspect(path, n), "");
        CHECK_GE(n, acknowledged);
        CHECK_LE(n, acknowledged + 1);
    }
    CHECK_GT(n, 60);
}

TEST_CASE("an ordinary day of four zones wears a card little") {
    const TempDir dir;
    FaultyDisk disk;
    disk.powersafe = true;
    Result<Store> store = Store::open(dir.file("j.sqlite"), on_faulty_disk());
    REQUIRE(store.ok());
    WorkerOptions options;
    options.telemetry_delay = std::chrono::hours(1'000); // the quarters of an hour are played below
    StoreWorker worker(std::move(*store), options);
    REQUIRE(worker.flush().ok());
    const std::int64_t bytes = disk.bytes_written;
    const std::int64_t syncs = disk.syncs;

    std::int64_t seq = 0;
    std::int64_t cycles = 0;
    const char* zones[] = {"front", "back", "west-strip", "bank"};
    for (std::int64_t minute = 0; minute < 24 * 60; minute += 5) {
        Step told;
        Step telemetry;
        if (minute % 60 == 0) { // an hour of weather, and a forecast of two days
            told.inputs.push_back(input(++seq));
            told.inputs.push_back(input(++seq));
            told.inputs.back().body = std::string(48 * 60, '7');
            telemetry.records.emplace_back(weather_used(minute * 60));
        }
        if (minute % 10 == 0)
            for (const char* zone : zones)
                telemetry.records.emplace_back(moisture(minute * 60, zone));
        for (std::int64_t i = 0; i < 4; ++i) { // three runs a day and zone, one after the other
            if (minute % 240 != 60 + 10 * i || minute < 360 || minute >= 1'080) continue;
            Step begins;
            begins.records = {decision(minute * 60, zones[i])};
            begins.opened = {open_cycle(++cycles, zones[i])};
            begins.inputs = {input(++seq)};
            REQUIRE(worker.post_step(begins).ok());
            Step ends;
            ends.inputs = {input(++seq)};
            ends.records = {cycle(cycles, zones[i]), decision(minute * 60 + 480, zones[i])};
            REQUIRE(worker.flush().ok());
            REQUIRE(worker.post_step(ends).ok());
        }
        if (minute == 0) told.snapshot = Snapshot{seq, at(0), std::string(20'000, 's')};
        REQUIRE(worker.post_step(told).ok());
        REQUIRE(worker.post_step(telemetry).ok());
        if (minute % 15 == 0) REQUIRE(worker.flush().ok());
    }
    worker.post_upkeep(at(86'400));
    REQUIRE(worker.flush().ok());
    const std::int64_t day_bytes = disk.bytes_written - bytes;
    const std::int64_t day_syncs = disk.syncs - syncs;
    REQUIRE(worker.stop().ok());
    const auto size = std::filesystem::file_size(dir.file("j.sqlite"));
    MESSAGE("a day: " << day_bytes / 1024 << " kB written, " << day_syncs << " syncs, file "
                      << size / 1024 << " kB");
    CHECK_EQ(cycles, 12);
    CHECK_LE(day_bytes, 2'000'000);
    CHECK_LE(day_syncs, 200);
}
