// A simulated season: its files, that it comes out the same again, and what people do in it.
#include "trial_season.hpp"

#include <doctest/doctest.h>

#include <sqlite3.h>

#include <algorithm>
#include <cmath>
#include <regex>
#include <set>

namespace firstmow::process {

namespace {

const std::vector<std::string> kSeasonFiles = {"cycles.csv", "decisions.csv", "moisture.csv",
                                               "season.sqlite", "summary.json"};

std::string first_line(const std::string& path) {
    return lines(content_of(path)).front();
}

// The one value of a query, as text.
std::string ask(const std::string& database, const std::string& sql) {
    sqlite3* db = nullptr;
    sqlite3_stmt* statement = nullptr;
    std::string answer = "no answer";
    if (sqlite3_open(database.c_str(), &db) == SQLITE_OK &&
        sqlite3_prepare_v2(db, sql.c_str(), -1, &statement, nullptr) == SQLITE_OK) {
        const int code = sqlite3_step(statement);
        if (code == SQLITE_ROW && sqlite3_column_text(statement, 0) != nullptr)
            answer = reinterpret_cast<const char*>(sqlite3_column_text(statement, 0));
        else if (code == SQLITE_DONE)
            answer = "";
    }
    sqlite3_finalize(statement);
    sqlite3_close(db);
    return answer;
}

// The lines of a CSV whose fields at these places are these.
std::vector<std::vector<std::string>> where(const std::string& path, std::size_t column,
                                            const std::string& value) {
    std::vector<std::vector<std::string>> found;
    for (const std::string& line : lines(content_of(path))) {
        auto row = fields(line);
        if (row.size() > column && row[column] == value) found.push_back(std::move(row));
    }
    return found;
}

} // namespace

TEST_CASE("a season leaves five files with the agreed columns") {
    const Bench bench;
    const Ended season = bench.simulate("out");
    REQUIRE_MESSAGE(season.code == 0, season.err);
    CHECK(season.err.empty());
    CHECK(has(season.out, "Front lawn"));
    CHECK(names_in(bench.place.file("out")) == kSeasonFiles);
    CHECK(first_line(bench.place.file("out/cycles.csv")) ==
          "zone,start,end,planned_s,run_s,depth_mm,volume_l,reason,outcome");
    CHECK(first_line(bench.place.file("out/moisture.csv")) ==
          "time,zone,phase,seed_zone_mm,seed_zone_kpa,low_quarter_kpa,root_zone_mm,evaporation_mm,"
          "transpiration_mm,rain_mm,applied_mm,runoff_mm,drainage_mm,soil_temp_c");
    CHECK(first_line(bench.place.file("out/decisions.csv")) ==
          "time,zone,decision,start,run_s,reason,explanation");
    // Three days of two zones, every ten minutes.
    CHECK(lines(content_of(bench.place.file("out/moisture.csv"))).size() == 1 + 3 * 144 * 2);
    const auto cycles = lines(content_of(bench.place.file("out/cycles.csv")));
    REQUIRE(cycles.size() > 1);
    CHECK(std::to_string(cycles.size() - 1) ==
          ask(bench.place.file("out/season.sqlite"), "SELECT count(*) FROM cycles"));
}

TEST_CASE("the valve file tells every change in order") {
    const Bench bench;
    REQUIRE(bench.simulate("out").code == 0);
    const auto changes = lines(content_of(bench.place.file("valves.log")));
    const auto cycles = lines(content_of(bench.place.file("out/cycles.csv")));
    CHECK(changes.size() == 2 * (cycles.size() - 1));
    const std::regex shape("^[0-9]+\\.[0-9]+ [12] (open|closed)$");
    double last = 0;
    std::set<char> open;
    for (const std::string& change : changes) {
        REQUIRE_MESSAGE(std::regex_match(change, shape), change);
        const double at = std::stod(change);
        CHECK(at >= last);
        last = at;
        const char channel = change[change.find(' ') + 1];
        if (has(change, "open"))
            CHECK_MESSAGE(open.insert(channel).second, change);
        else
            CHECK_MESSAGE(open.erase(channel) == 1, change);
    }
    CHECK(open.empty());
}

TEST_CASE("the same season comes out the same, byte for byte; another seed does not") {
    const Bench bench;
    REQUIRE(bench.simulate("one", {"--seed", "5"}).code == 0);
    REQUIRE(bench.simulate("two", {"--seed", "5"}).code == 0);
    REQUIRE(bench.simulate("other", {"--seed", "6"}).code == 0);
    for (const std::string& name : kSeasonFiles)
        CHECK_MESSAGE(content_of(bench.place.file("one/" + name)) ==
                          content_of(bench.place.file("two/" + name)),
                      name);
    CHECK(content_of(bench.place.file("one/decisions.csv")) !=
          content_of(bench.place.file("other/decisions.csv")));
    // Over an earlier season's files it comes out the same, too.
    REQUIRE(bench.simulate("other", {"--seed", "5"}).code == 0);
    for (const std::string& name : kSeasonFiles)
        CHECK_MESSAGE(content_of(bench.place.file("one/" + name)) ==
                          content_of(bench.place.file("other/" + name)),
                      name);
    // All that the planner may see of the future makes a difference.
    REQUIRE(bench.simulate("blind", {"--forecast", "none"}).code == 0);
    CHECK(content_of(bench.place.file("one/decisions.csv")) !=
          content_of(bench.place.file("blind/decisions.csv")));
}

TEST_CASE("replay finds every decision again, and sees one that was altered") {
    const Bench bench;
    REQUIRE(bench.simulate("out").code == 0);
    const std::string db = bench.place.file("out/season.sqlite");
    const std::string untouched = content_of(db);
    const auto verify = [&] { return bench.firstmow({"replay", "--db", db, "--verify"}); };

    Ended replay = verify();
    CHECK_MESSAGE(replay.code == 0, replay.err);
    CHECK(has(replay.out, "came out the same"));
    CHECK(content_of(db) == untouched);

    CHECK(ask(db, "UPDATE decisions SET run_s = run_s + 1 WHERE seq = 3").empty());
    replay = verify();
    CHECK(replay.code == 1);
    // Which one, counted in the order of time.
    const std::regex named("firstmow: decision [0-9]+ \\(zone (front|bed)\\) came out.*\n");
    CHECK_MESSAGE(std::regex_match(replay.err, named), replay.err);
    CHECK(bench.firstmow({"replay", "--db", db}).code == 0); // it was not asked to judge

    write(db, untouched);
    CHECK(ask(db, "DELETE FROM decisions WHERE seq = 2").empty());
    replay = verify();
    CHECK(replay.code == 1);
    CHECK(has(replay.err, "decisions, the replay made"));

    write(db, untouched);
    CHECK(ask(db, "UPDATE cycles SET depth_mm = depth_mm * 2 WHERE id = 1").empty());
    replay = verify();
    CHECK(replay.code == 1);
    CHECK(has(replay.err, "firstmow: cycle "));

    write(db, untouched);
    CHECK(ask(db, "UPDATE inputs SET body = '[' WHERE seq = 4").empty());
    replay = verify();
    CHECK(replay.code == 1);
    CHECK(lines(replay.err).size() == 1);
}

TEST_CASE("people's events change the season") {
    const Bench bench;
    // The local day is UTC - 5 h here.
    write(bench.place.file("events.csv"),
          "time,zone,kind,value\n"
          "2026-08-22T06:00:00Z,bed,water,7\n" // in the night, outside of the hours
          "2026-08-23T03:00:00Z,bed,water,30\n"
          "2026-08-23T03:10:00Z,bed,stop,\n"
          "2026-08-23T05:00:00Z,front,hold,24\n"
          "2026-08-24T12:00:00Z,front,seedlings_seen,\n"
          "2026-08-24T18:00:00Z,front,first_mow,\n");
    const Ended season = bench.simulate("out", {"--events", "events.csv"});
    REQUIRE_MESSAGE(season.code == 0, season.err);

    const std::string cycles = bench.place.file("out/cycles.csv");
    const auto ordered = where(cycles, 7, "person");
    REQUIRE(ordered.size() == 2);
    CHECK(ordered[0] ==
          std::vector<std::string>{"bed", "2026-08-22T06:00:00Z", "2026-08-22T06:07:00Z", "420",
                                   "420", ordered[0][5], ordered[0][6], "person", "completed"});
    // 420 s at 10 mm/h on 20 m2.
    CHECK(std::stod(ordered[0][5]) == doctest::Approx(420 * 10 / 3600.0).epsilon(0.01));
    CHECK(std::stod(ordered[0][6]) == doctest::Approx(420 * 10 / 3600.0 * 20).epsilon(0.01));
    CHECK(ordered[1][4] == "600"); // stopped after ten minutes of thirty
    CHECK(ordered[1][8] == "stopped");

    for (const auto& cycle : where(cycles, 0, "front"))
        CHECK_MESSAGE((cycle[1] < "2026-08-23T05:00:00Z" || cycle[1] >= "2026-08-24T05:00:00Z"),
                      cycle[1]);
    REQUIRE(bench.simulate("plain").code == 0);
    CHECK(where(bench.place.file("plain/cycles.csv"), 7, "person").empty());

    const auto phase_at = [&](const std::string& time) {
        for (const auto& row : where(bench.place.file("out/moisture.csv"), 0, time))
            if (row[1] == "front") return row[2];
        return std::string("no such line");
    };
    CHECK(phase_at("2026-08-24T11:50:00Z") == "pre_germination");
    CHECK(phase_at("2026-08-24T12:30:00Z") == "emergence");
    CHECK(phase_at("2026-08-24T18:30:00Z") == "post_first_mow");
}

TEST_CASE("sod that resists a tug has rooted") {
    const Bench bench;
    std::string garden = garden_text();
    const auto at = garden.find("method = \"seed\"");
    const auto end = garden.find("seed_depth", at);
    garden.replace(at, end - at, "method = \"sod\"\nstart = 2026-08-22\n");
    garden.erase(garden.find("seed_depth"), std::string("seed_depth = \"6 mm\"\n").size());
    write(bench.place.file("garden.toml"), garden);
    write(bench.place.file("events.csv"), "time,zone,kind,value\n"
                                          "2026-08-24T12:00:00Z,front,rooted,\n");
    const Ended season = bench.simulate("out", {"--events", "events.csv"});
    REQUIRE_MESSAGE(season.code == 0, season.err);
    std::set<std::string> before;
    std::set<std::string> after;
    for (const auto& row : where(bench.place.file("out/moisture.csv"), 1, "front"))
        (row[0] <= "2026-08-24T12:00:00Z" ? before : after).insert(row[2]);
    CHECK(before == std::set<std::string>{"rooting"});
    CHECK(after.count("rooting") == 0);
}

TEST_CASE("et prints an hour a line") {
    const Bench bench;
    const Ended et = bench.firstmow({"et", "--weather", "weather.csv", "--latitude", "41.9",
                                     "--longitude", "-93.6", "--elevation", "290"});
    REQUIRE_MESSAGE(et.code == 0, et.err);
    CHECK(et.err.empty());
    const auto rows = lines(et.out);
    const auto weather = lines(content_of(bench.place.file("weather.csv")));
    REQUIRE(rows.size() == weather.size());
    CHECK(rows.front() == "time,eto_mm,etr_mm");
    double short_mm = 0;
    double tall_mm = 0;
    for (std::size_t i = 1; i < rows.size(); ++i) {
        const auto row = fields(rows[i]);
        REQUIRE(row.size() == 3);
        CHECK(row[0] == fields(weather[i])[0]);
        CHECK(std::isfinite(std::stod(row[1])));
        CHECK(std::isfinite(std::stod(row[2])));
        short_mm += std::stod(row[1]);
        tall_mm += std::stod(row[2]);
    }
    // Six days of late summer: a few mm a day; the tall reference asks for more.
    CHECK(short_mm > 6);
    CHECK(short_mm < 60);
    CHECK(tall_mm > short_mm);
}

TEST_CASE("off closes every valve without the daemon") {
    const Bench bench;
    const Ended off = bench.firstmow({"off", "--garden", "garden.toml"});
    CHECK_MESSAGE(off.code == 0, off.err);
    auto changes = lines(content_of(bench.place.file("valves.log")));
    REQUIRE(changes.size() == 2);
    for (std::string& change : changes)
        change = change.substr(change.find(' ') + 1);
    std::sort(changes.begin(), changes.end());
    CHECK(changes == std::vector<std::string>{"1 closed", "2 closed"});

    // One that cannot be reached does not keep the other from closing.
    std::string garden = garden_text();
    const auto at = garden.find("valves.log");
    write(bench.place.file("garden.toml"), garden.replace(at, 10, "none/valves.log"));
    const Ended half = bench.firstmow({"off", "--garden", "garden.toml"});
    CHECK(half.code == 1);
    CHECK(has(half.err, "front"));
    CHECK(lines(content_of(bench.place.file("valves.log"))).size() == 3);
}

} // namespace firstmow::process
