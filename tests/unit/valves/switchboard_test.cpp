#include "loop.hpp"

#include "valves/driver.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <filesystem>
#include <regex>

namespace firstmow::valves {

namespace {

using Changes = std::vector<std::string>;

} // namespace

TEST_CASE("SAFE-01: the switchboard's first act is to close every valve, its last too") {
    Bench bench;
    {
        const auto board = bench.board({"valves.log", "valves.log"});
        REQUIRE(board.ok());
        CHECK(bench.changes() == Changes{"1 closed", "2 closed"});
        (*board)->open("b", Seconds{60});
        CHECK(bench.changes().back() == "2 open");
    }
    CHECK(bench.changes() == Changes{"1 closed", "2 closed", "2 open", "1 closed", "2 closed"});
    bench.poll();
    CHECK(bench.reports.empty()); // nobody is there to hear of it
}

TEST_CASE("SAFE-02: a lease closes its valve by itself and reports it") {
    Bench bench;
    const auto board = bench.board({"valves.log", "other.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{1});
    (*board)->open("b", Seconds{3600});
    CHECK(bench.reports.empty()); // answers come on the loop, never from inside of open()
    REQUIRE(bench.hear(3));
    CHECK(bench.reports[0].zone == "a");
    CHECK(bench.reports[0].open);
    CHECK_FALSE(bench.reports[0].fault);
    CHECK(bench.reports[1].zone == "b");
    CHECK(bench.reports[2].zone == "a");
    CHECK_FALSE(bench.reports[2].open);
    CHECK_FALSE(bench.reports[2].fault);
    CHECK(bench.changes() == Changes{"1 closed", "1 open", "1 closed"});
    CHECK(bench.changes("other.log") == Changes{"2 closed", "2 open"});
}

TEST_CASE("opened again, an open valve is not touched; its lease begins anew") {
    Bench bench;
    const auto board = bench.board({"valves.log", ""});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{3600});
    (*board)->open("a", Seconds{1});
    CHECK(bench.changes() == Changes{"1 closed", "1 open"});
    REQUIRE(bench.hear(2));
    CHECK(bench.changes() == Changes{"1 closed", "1 open", "1 closed"});
    // Longer, too: the first lease's end does nothing, the valve is still open after it.
    bench.reports.clear();
    (*board)->open("a", Seconds{1});
    (*board)->open("a", Seconds{3600});
    (*board)->open("b", Seconds{2}); // a clock to wait by
    REQUIRE(bench.hear(3));
    CHECK(bench.reports.back().zone == "b");
    CHECK(bench.changes().back() == "1 open");
}

TEST_CASE("closing reports every time, and ends the lease") {
    Bench bench;
    const auto board = bench.board({"valves.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{1});
    (*board)->close("a");
    (*board)->close("a");
    REQUIRE(bench.hear(3));
    CHECK(bench.reports[0].open);
    CHECK_FALSE(bench.reports[1].open);
    CHECK_FALSE(bench.reports[2].open);
    CHECK(bench.changes() == Changes{"1 closed", "1 open", "1 closed", "1 closed"});
    (*board)->open("nobody", Seconds{1});
    (*board)->close("nobody");
    bench.poll();
    CHECK(bench.reports.size() == 3);
}

TEST_CASE("SAFE-03: one valve that fails does not keep the others from closing") {
    Bench bench;
    std::filesystem::create_directory(bench.folder + "/box");
    const auto board = bench.board({"box/valves.log", "valves.log"});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{60});
    (*board)->open("b", Seconds{60});
    REQUIRE(bench.hear(2));
    std::filesystem::remove_all(bench.folder + "/box");
    const Status closed = (*board)->close_all();
    REQUIRE_FALSE(closed.ok());
    CHECK(closed.error().message.find("zone a: ") == 0);
    CHECK(closed.error().message.find("box/valves.log") != std::string::npos);
    CHECK(bench.changes().back() == "2 closed");

    // The one that fails is said to be open still, until it obeys.
    bench.reports.clear();
    (*board)->close("a");
    REQUIRE(bench.hear(1));
    CHECK(bench.reports[0].fault);
    CHECK(bench.reports[0].open);
    CHECK(bench.reports[0].detail.find("box/valves.log") != std::string::npos);
    std::filesystem::create_directory(bench.folder + "/box");
    (*board)->close("a");
    REQUIRE(bench.hear(2));
    CHECK_FALSE(bench.reports[1].fault);
    CHECK_FALSE(bench.reports[1].open);
}

TEST_CASE("a valve that does not open is reported as a fault") {
    Bench bench;
    std::filesystem::create_directory(bench.folder + "/box");
    const auto board = bench.board({"box/valves.log"});
    REQUIRE(board.ok());
    std::filesystem::remove_all(bench.folder + "/box");
    (*board)->open("a", Seconds{60});
    REQUIRE(bench.hear(1));
    CHECK(bench.reports[0].fault);
    CHECK(bench.reports[0].open); // it can neither be opened nor closed: it may be open
}

TEST_CASE("a valve that cannot be reached at the start is named, the others are closed") {
    Bench bench;
    const auto board = bench.board({"none/valves.log", "valves.log"});
    REQUIRE_FALSE(board.ok());
    CHECK(board.error().message.find("zone a: ") == 0);
    CHECK(bench.changes().front() == "2 closed");
}

TEST_CASE("SAFE-23: closed without the daemon; drivers that there are") {
    Bench bench;
    garden::Valve known = valve(7, "valves.log");
    CHECK(close_without_daemon(known, bench.garden()).ok());
    CHECK(bench.changes() == Changes{"7 closed"});
    CHECK(close_without_daemon(valve(8, ""), bench.garden()).ok());
    known.driver = "steam";
    const Status refused = close_without_daemon(known, bench.garden());
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().message.find("'steam'") != std::string::npos);
}

} // namespace firstmow::valves
