// What is refused, with which words, and that it stays as it was.
#include "fixtures.hpp"
#include "store/migrations.hpp"
#include "store/store.hpp"

#include <filesystem>
#include <functional>
#include <iostream>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::store;
using namespace firstmow::store::test;

namespace {

OpenOptions impatient() {
    OpenOptions options;
    options.busy_ms = 0;
    return options;
}

std::string refusal(const std::string& path, Fault* fault = nullptr) {
    const Result<Store> store = Store::open(path, impatient(), fault);
    return store.ok() ? "opened" : store.error().message;
}

// What `work` says in a child process.
std::string in_child(const std::function<std::string()>& work) {
    int ends[2];
    REQUIRE_EQ(pipe(ends), 0);
    std::cout.flush(); // or the child may say it again
    const pid_t child = fork();
    REQUIRE_GE(child, 0);
    if (child == 0) {
        const std::string said = work();
        const bool sent = write(ends[1], said.data(), said.size()) >= 0;
        _exit(sent ? 0 : 1);
    }
    close(ends[1]);
    std::string said;
    char buffer[4096];
    for (ssize_t got = 0; (got = read(ends[0], buffer, sizeof buffer)) > 0;)
        said.append(buffer, static_cast<std::size_t>(got));
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    return said;
}

void make(const std::string& path, int steps) {
    Result<Store> store = Store::open(path);
    REQUIRE(store.ok());
    for (int n = 1; n <= steps; ++n)
        REQUIRE(store->write(step(n)).ok());
}

} // namespace

TEST_CASE("a new file is ours: WAL, STRICT tables, version, nothing beside it after closing") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    make(path, 3);
    CHECK_FALSE(std::filesystem::exists(path + "-wal"));
    CHECK_FALSE(std::filesystem::exists(path + "-shm"));
    CHECK_EQ(raw(path, "PRAGMA journal_mode"), "wal");
    CHECK_EQ(raw(path, "PRAGMA user_version"), std::to_string(newest_version()));
    CHECK_EQ(raw(path, "PRAGMA application_id"), std::to_string(kApplicationId));
    CHECK_EQ(raw(path, "SELECT count(*) FROM pragma_table_list "
                       "WHERE schema = 'main' AND name NOT LIKE 'sqlite_%'"),
             "12");
    CHECK_EQ(raw(path, "SELECT count(*) FROM pragma_table_list "
                       "WHERE schema = 'main' AND name NOT LIKE 'sqlite_%' AND strict = 0"),
             "0");
    CHECK_EQ(raw(path, "INSERT INTO moisture SELECT time_s + 1, zone, phase, seed_zone_mm, "
                       "'dry', 0, 0, 0, 0, 0, 0, 0, 0, 0, 0 FROM moisture LIMIT 1"),
             "error: cannot store TEXT value in REAL column moisture.seed_zone_kpa");
    // NaN would arrive as NULL.
    CHECK_EQ(raw(path, "UPDATE moisture SET rain_mm = NULL"),
             "error: NOT NULL constraint failed: moisture.rain_mm");
}

TEST_CASE("a file of the second version is brought up, and loses nothing") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    make(path, 6);
    CHECK_EQ(raw(path, "DROP TABLE forecasts; "), "");
    CHECK_EQ(raw(path, "DROP TABLE corrections"), "");
    CHECK_EQ(raw(path, "ALTER TABLE weather_used DROP COLUMN sources"), "");
    CHECK_EQ(raw(path, "PRAGMA user_version = 2"), "");
    Result<Store> store = Store::open(path);
    REQUIRE(store.ok());
    std::int64_t n = 0;
    CHECK_EQ(whole_steps(*store, n), "");
    CHECK_EQ(n, 6);
    const auto weather = store->weather();
    REQUIRE(weather.ok());
    for (const engine::WeatherUsed& used : *weather)
        CHECK_EQ(used.sources, "");
    engine::WeatherUsed named = weather_used(99);
    named.sources = "yard yard - - yard";
    CHECK(store->append(std::vector<engine::Record>{named}).ok());
    CHECK_EQ(store->weather()->back(), named);
    CHECK(store->append(std::vector<engine::Record>{correction(1)}).ok());
    CHECK_EQ(store->corrections()->size(), 1);
}

TEST_CASE("a place that cannot hold a journal is named") {
    const TempDir dir;
    Fault fault = Fault::none;
    CHECK_EQ(refusal(dir.file("no/j.sqlite"), &fault),
             dir.file("no") + ": no such folder; make it, or use another --state-dir");
    CHECK(fault == Fault::io);
    CHECK_EQ(refusal(dir.path()),
             dir.path() + ": is a folder; a file name for the journal would be right");
    CHECK_FALSE(std::filesystem::exists(dir.file("no")));
}

TEST_CASE("a file that is no database is refused and left alone") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    for (const std::string& bytes : {std::string("hello"), std::string(100'000, 'x')}) {
        write_file(path, bytes);
        Fault fault = Fault::none;
        CHECK_EQ(refusal(path, &fault),
                 path + ": is not a sound database; move it aside and start again, "
                        "or restore a copy");
        CHECK(fault == Fault::damaged);
        CHECK(read_file(path) == bytes);
    }
}

TEST_CASE("a database of another program is refused and left alone") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    REQUIRE_EQ(raw(path, "CREATE TABLE t(x); INSERT INTO t VALUES (1)"), "");
    const std::string bytes = read_file(path);
    CHECK_EQ(refusal(path), path + ": is a database of another program; "
                                   "move it away, or use another --state-dir");
    CHECK(read_file(path) == bytes);
}

TEST_CASE("a file of a newer firstmow is refused and left alone, its log too") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    // A newer program that was killed: what it wrote last is still in the log.
    in_child([&] {
        Result<Store> store = Store::open(path);
        if (!store.ok() || !store->write(step(1)).ok()) return std::string("no");
        kill(getpid(), SIGKILL);
        return std::string();
    });
    const std::string killed = dir.file("k.sqlite");
    std::filesystem::copy(path, killed);
    std::filesystem::copy(path + "-wal", killed + "-wal");
    REQUIRE_EQ(raw(path, "PRAGMA user_version = 7"), "");
    const std::string bytes = read_file(path);
    CHECK_EQ(refusal(path), path + ": was written by a newer firstmow (schema 7, this one knows " +
                                std::to_string(newest_version()) +
                                "); use that version or another --state-dir");
    CHECK(read_file(path) == bytes);

    // The same with the version in the log only, which must stay what it is.
    in_child([&] {
        Result<Database> database = [&] {
            Fault why{};
            return Database::open(killed, {}, why);
        }();
        if (!database.ok() || !database->exec("PRAGMA user_version = 7").ok())
            return std::string("no");
        kill(getpid(), SIGKILL);
        return std::string();
    });
    const std::string file = read_file(killed);
    const std::string log = read_file(killed + "-wal");
    REQUIRE_GT(log.size(), 0);
    CHECK(refusal(killed).find("newer firstmow (schema 7") != std::string::npos);
    CHECK(read_file(killed) == file);
    CHECK(read_file(killed + "-wal") == log);
}

TEST_CASE("a damaged file is found on opening, set aside whole, and a new one begun") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    make(path, 300);
    std::string bytes = read_file(path);
    for (std::size_t i = 5 * 4096; i < bytes.size(); i += 7) // all but the first pages
        bytes[i] = static_cast<char>(~bytes[i]);
    write_file(path, bytes);
    Fault fault = Fault::none;
    const std::string words = refusal(path, &fault);
    CHECK(words.starts_with(path + ": is "));
    CHECK(words.ends_with("; move it aside and start again, or restore a copy"));
    CHECK(words.find('\n') == std::string::npos);
    CHECK(fault == Fault::damaged);
    CHECK(read_file(path) == bytes);

    write_file(path + "-wal", "the log of it");
    const Result<std::string> aside = set_aside(path, at(0));
    REQUIRE(aside.ok());
    CHECK_EQ(*aside, path + ".damaged-2026-08-01T000000Z");
    CHECK(read_file(*aside) == bytes);
    CHECK_EQ(read_file(*aside + "-wal"), "the log of it");
    CHECK_EQ(refusal(path), "opened");
}

TEST_CASE("a file in use is refused, from this process and from another") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    const std::string in_use =
        path + ": is in use by another process; stop that one, or use another --state-dir";
    Result<Store> holder = Store::open(path); // holds it before the first write, too
    REQUIRE(holder.ok());
    Fault fault = Fault::none;
    CHECK_EQ(refusal(path, &fault), in_use);
    CHECK(fault == Fault::busy);
    CHECK_EQ(in_child([&] { return refusal(path); }), in_use);
    REQUIRE(holder->write(step(1)).ok());
    CHECK_EQ(in_child([&] { return refusal(path); }), in_use);
    CHECK_EQ(raw(path, "SELECT count(*) FROM inputs"), "error: database is locked");
    std::int64_t n = 0;
    CHECK_EQ(whole_steps(*holder, n), "");
    CHECK_EQ(n, 1);
    { const Store gone = std::move(*holder); }
    CHECK_EQ(refusal(path), "opened");
}

TEST_CASE("without the right to write the refusal says so" * doctest::skip(geteuid() != 0)) {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    make(path, 2);
    const std::string bytes = read_file(path);
    const auto as_nobody = [&](const std::string& file) {
        return in_child([&] {
            if (setgid(65534) != 0 || setuid(65534) != 0) return std::string("no nobody");
            return refusal(file);
        });
    };
    REQUIRE_EQ(chmod(dir.path().c_str(), 0755), 0);
    CHECK_EQ(as_nobody(path), dir.path() + ": may not be written by this user, or is on a "
                                           "read-only disk; give it the right owner, or use "
                                           "another --state-dir");
    REQUIRE_EQ(chmod(dir.path().c_str(), 0777), 0);
    REQUIRE_EQ(chmod(path.c_str(), 0444), 0);
    CHECK_EQ(as_nobody(path), path + ": may not be written by this user, or is read-only; give it "
                                     "the right owner, or use another --state-dir");
    CHECK(read_file(path) == bytes);
    CHECK_EQ(as_nobody(dir.file("new.sqlite")), "opened"); // so the folder was not the cause
}

TEST_CASE("tools read a closed file without touching it, and never create one") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    OpenOptions options = impatient();
    options.read_only = true;
    CHECK_EQ(Store::open(path, options).error().message, path + ": no such file");
    CHECK_FALSE(std::filesystem::exists(path));
    make(path, 4);
    const std::string bytes = read_file(path);
    {
        Result<Store> store = Store::open(path, options);
        REQUIRE(store.ok());
        std::int64_t n = 0;
        CHECK_EQ(whole_steps(*store, n), "");
        CHECK_EQ(n, 4);
        CHECK_FALSE(store->write(step(5)).ok());
        CHECK(store->fault() == Fault::io);
    }
    CHECK(read_file(path) == bytes);
    CHECK_FALSE(std::filesystem::exists(path + "-wal"));

    const Result<Store> running = Store::open(path);
    REQUIRE(running.ok());
    const Result<Store> beside = Store::open(path, options);
    REQUIRE_FALSE(beside.ok());
    CHECK(beside.error().message.find("is in use by another process") != std::string::npos);
}

TEST_CASE("odd file names are names, not addresses") {
    const TempDir dir;
    for (const char* name : {"a?mode=memory", "b#c", "d%20e", "f g"}) {
        make(dir.file(name), 1);
        CHECK(std::filesystem::exists(dir.file(name)));
    }
}

TEST_CASE("a file of an older firstmow is brought up to date and loses nothing") {
    const TempDir dir;
    const std::string path = dir.file("j.sqlite");
    REQUIRE_EQ(raw(path, "PRAGMA journal_mode = wal"), "wal");
    const std::string schema_1 =
        read_file(std::string(FIRSTMOW_SOURCE_DIR) + "/tests/unit/store/schema_1.sql");
    REQUIRE_EQ(raw(path, schema_1), "");
    Result<Store> store = Store::open(path);
    REQUIRE(store.ok());
    const auto lines = store->moisture();
    REQUIRE(lines.ok());
    REQUIRE_EQ(lines->size(), 3);
    CHECK_EQ(lines->at(1).zone, "front");
    CHECK_EQ(lines->at(1).low_quarter_kpa, -199.6968216290668);
    CHECK_EQ(lines->at(1).threshold_kpa, 0);
    CHECK_EQ(store->cycles()->size(), 2);
    CHECK_EQ(store->notices()->size(), 1);
    CHECK(store->corrections()->empty());
    CHECK(store->append({{correction(1)}}).ok());
    CHECK(store->write(step(1)).ok());
    store = Error{"closed"};
    CHECK_EQ(raw(path, "PRAGMA user_version"), std::to_string(newest_version()));
}
