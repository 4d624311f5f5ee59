// Arguments, events and journals that are wrong.
#include "trial_season.hpp"

#include <doctest/doctest.h>

#include <sqlite3.h>

namespace firstmow::process {

namespace {

void refuses(const Bench& bench, const Ended& ended, const std::string& before,
             const std::string& word) {
    CHECK_MESSAGE(is_refusal(ended), ended.code, " ", ended.err);
    CHECK_MESSAGE(has(ended.err, word), ended.err);
    CHECK((all_below(bench.place.path()) == before));
}

void change(const std::string& database, const std::string& sql) {
    sqlite3* db = nullptr;
    REQUIRE(sqlite3_open(database.c_str(), &db) == SQLITE_OK);
    REQUIRE(sqlite3_exec(db, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    REQUIRE(sqlite3_close(db) == SQLITE_OK);
}

} // namespace

TEST_CASE("a season that cannot be is refused and leaves nothing behind") {
    const Bench bench;
    const std::string before = all_below(bench.place.path());
    const auto days = [&](const std::string& from, const std::string& to) {
        return bench.firstmow({"simulate", "--garden", "garden.toml", "--weather", "weather.csv",
                               "--from", from, "--to", to, "--out", "out"});
    };
    refuses(bench, days("2026-09-22", "2026-09-24"), before, "2026-09-22");
    refuses(bench, days("2025-08-22", "2025-08-24"), before, "2025-08-22");
    refuses(bench, days("2026-08-22", "2026-12-24"), before, "are not in it");
    refuses(bench, days("2026-08-24", "2026-08-22"), before, "before");
    refuses(bench, days("2026-02-30", "2026-08-22"), before, "--from");
    refuses(bench, days("2026-08-22", "tomorrow"), before, "--to");
    refuses(bench, bench.simulate("none/out"), before, "--out: none/out: No such file");
    refuses(bench, bench.simulate("garden.toml"), before, "--out: garden.toml: File exists");
    refuses(bench, bench.simulate("out", {"--forecast", "rosy"}), before, "perfect");
    refuses(bench, bench.simulate("out", {"--seed", "many"}), before, "--seed");
    refuses(bench, bench.simulate("out", {"--events", "none.csv"}), before, "none.csv");

    GardenSpec spec;
    spec.valve_file = "none/valves.log";
    spec.with_bed = false;
    write(bench.place.file("garden.toml"), garden_text(spec));
    const std::string changed = all_below(bench.place.path());
    refuses(bench, bench.simulate("out"), changed, "none/valves.log");
}

TEST_CASE("an unknown command or option is refused") {
    const Bench bench;
    const std::string before = all_below(bench.place.path());
    refuses(bench, bench.firstmow({"sprinkle"}), before, "there is no command");
    refuses(bench, bench.firstmow({"check", "--gardn", "garden.toml"}), before, "--garden");
    refuses(bench, bench.firstmow({}), before, "subcommand");
    refuses(bench,
            bench.firstmow({"et", "--weather", "weather.csv", "--latitude", "91", "--longitude",
                            "-93.6", "--elevation", "290"}),
            before, "--latitude");
    refuses(bench, run({kDaemon, "--garden", "garden.toml", "--sprinkle"}, bench.place.path()),
            before, "--help");
    refuses(bench, run({kDaemon, "--garden", "garden.toml"}, bench.place.path()), before,
            "--state-dir");
}

TEST_CASE("events that are wrong are refused with their place") {
    const Bench bench;
    const auto with = [&](const std::string& event) {
        write(bench.place.file("events.csv"), "time,zone,kind,value\n" + event + "\n");
        const std::string before = all_below(bench.place.path());
        const Ended ended = bench.simulate("out", {"--events", "events.csv"});
        CHECK_MESSAGE(is_refusal(ended), ended.code, " ", ended.err);
        CHECK((all_below(bench.place.path()) == before));
        return ended.err;
    };
    std::string said = with("2026-08-22T12:00:00Z,frnt,water,8");
    CHECK(has(said, "events.csv:2:22:"));
    CHECK(has(said, "'front'"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,sprinkle,"), "events.csv:2:28:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,water,much"), "events.csv:2:34:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,water,0"), "events.csv:2:34:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,water,nan"), "events.csv:2:34:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,hold,1e9"), "events.csv:2:33:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,hold,"), "events.csv:2:33:"));
    CHECK(has(with("noon,front,water,8"), "events.csv:2:1:"));
    CHECK(has(with("2026-08-22T12:00:00Z,front,stop"), "events.csv:2:1:"));
    write(bench.place.file("events.csv"), "when,zone,kind,value\n");
    CHECK(has(bench.simulate("out", {"--events", "events.csv"}).err, "events.csv:1:1:"));
    write(bench.place.file("events.csv"), "");
    const Ended empty = bench.simulate("out", {"--events", "events.csv"});
    CHECK_MESSAGE(is_refusal(empty), empty.code, " ", empty.err);
    CHECK(has(empty.err, "events.csv:1:1:"));
    CHECK_FALSE(exists(bench.place.file("out")));
}

TEST_CASE("replay refuses what is no journal of ours") {
    const Bench bench;
    const auto replay = [&](const std::string& db) {
        return bench.firstmow({"replay", "--db", db, "--verify"});
    };
    std::string before = all_below(bench.place.path());
    refuses(bench, replay("none.sqlite"), before, "none.sqlite");
    refuses(bench, replay("garden.toml"), before, "garden.toml");
    refuses(bench, replay("."), before, "folder");

    REQUIRE(bench.simulate("out").code == 0);
    change(bench.place.file("out/season.sqlite"), "PRAGMA user_version = 99");
    before = all_below(bench.place.path());
    refuses(bench, replay("out/season.sqlite"), before, "newer firstmow");

    change(bench.place.file("other.sqlite"), "CREATE TABLE birds(name TEXT)");
    before = all_below(bench.place.path());
    refuses(bench, replay("other.sqlite"), before, "another program");
}

} // namespace firstmow::process
