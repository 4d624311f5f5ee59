// The switchboard and a keeper that is a process of its own: limits, and its loss.
#include "loop.hpp"

#include "valves/most_at_once.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <algorithm>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <unistd.h>

namespace firstmow::valves {

namespace {

// The keeper that this process has for a child; 0 when there is none.
int keeper_pid() {
    for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
        const std::string pid = entry.path().filename().string();
        if (pid.find_first_not_of("0123456789") != std::string::npos) continue;
        std::string stat;
        std::getline(std::ifstream(entry.path() / "stat"), stat);
        const auto name = stat.find("(firstmow-keeper) ");
        if (name == std::string::npos) continue;
        if (std::atoi(stat.c_str() + name + 20) == ::getpid()) return std::atoi(pid.c_str());
    }
    return 0;
}

garden::Zone zone_of(double flow_l_per_min) {
    garden::Zone zone;
    zone.area_m2 = flow_l_per_min;
    zone.precipitation_rate_mm_per_h = 60;
    return zone;
}

} // namespace

TEST_CASE("SAFE-15: as many valves at once as the tap can feed of the smallest zones") {
    garden::Garden garden;
    garden.supply.flow_l_per_min = 30;
    garden.zones = {zone_of(20), zone_of(10), zone_of(15)};
    CHECK(most_at_once(garden) == 2); // 10 and 15
    garden.supply.flow_l_per_min = 45;
    CHECK(most_at_once(garden) == 3);
    garden.supply.flow_l_per_min = 5;
    CHECK(most_at_once(garden) == 1);
}

TEST_CASE("SAFE-14: an opening that the keeper refuses is a fault, and nothing moves") {
    Bench bench;
    const auto board = bench.board({"valves.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{5 * 3600});
    (*board)->open("a", Seconds{0});
    REQUIRE(bench.hear(2));
    CHECK(bench.reports[0].fault);
    CHECK_FALSE(bench.reports[0].open);
    CHECK(bench.reports[0].detail.find("4 h 10 min") != std::string::npos);
    CHECK(bench.reports[1].fault);
    CHECK(bench.changes() == std::vector<std::string>{"1 closed"});
}

TEST_CASE("SAFE-21: a keeper that dies is a fault of every zone, an alarm, and replaced") {
    Bench bench;
    const auto board = bench.board({"valves.log", "valves.log"});
    REQUIRE(board.ok());
    std::vector<std::string> alarms;
    (*board)->on_alarm([&](std::string text) { alarms.push_back(std::move(text)); });
    (*board)->open("b", Seconds{60});
    REQUIRE(bench.hear(1));
    const int first = keeper_pid();
    REQUIRE(first > 0);
    ::kill(first, SIGKILL);
    REQUIRE(bench.hear(3));
    for (std::size_t i = 1; i < 3; ++i) {
        CHECK(bench.reports[i].fault);
        CHECK_FALSE(bench.reports[i].open);
        CHECK(bench.reports[i].detail.find("valve keeper") != std::string::npos);
    }
    CHECK(bench.reports[1].zone != bench.reports[2].zone);
    bench.poll();
    REQUIRE(alarms.size() == 1);
    CHECK(bench.changes().back() == "2 closed");
    CHECK(keeper_pid() > 0);
    CHECK(keeper_pid() != first);
    // Noticed in the middle of an order as well.
    ::kill(keeper_pid(), SIGKILL);
    bench.reports.clear();
    (*board)->open("a", Seconds{60});
    REQUIRE(bench.hear(2));
    CHECK(std::all_of(bench.reports.begin(), bench.reports.end(),
                      [](const engine::ValveReport& r) { return r.fault && !r.open; }));
    (*board)->open("a", Seconds{60});
    CHECK(bench.changes().back() == "1 open");
}

TEST_CASE("SAFE-21: a keeper that hangs is noticed by an order, ended and replaced") {
    Bench bench;
    const auto board = bench.board({"valves.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{60});
    REQUIRE(bench.hear(1));
    ::kill(keeper_pid(), SIGSTOP);
    (*board)->close("a");
    CHECK(bench.changes().back() == "1 closed");
    REQUIRE(bench.hear(2));
    CHECK(bench.reports[1].fault);
    CHECK_FALSE(bench.reports[1].open);
}

TEST_CASE("SAFE-02: a lease that the keeper does not end is ended by the switchboard") {
    Bench bench;
    bench.keeper_program = std::string(FIRSTMOW_BUILD_DIR) + "/slack_keeper";
    const auto board = bench.board({"valves.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{1});
    REQUIRE(bench.hear(2));
    CHECK(bench.reports[0].open);
    CHECK_FALSE(bench.reports[1].open);
    CHECK_FALSE(bench.reports[1].fault);
    CHECK(bench.changes() == std::vector<std::string>{"1 open", "1 closed"});
}

} // namespace firstmow::valves
