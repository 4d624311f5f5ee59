// Devices that take their time, through the switchboard and a real keeper.
#include "loop.hpp"
#include "relay_server.hpp"

#include "valves/driver.hpp"

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::valves {

namespace {

using Manner = keeper::RelayServer::Manner;

garden::HttpOrder order_of(const keeper::RelayServer& server, const std::string& body) {
    return {"PUT", {{127, 0, 0, 1}, server.port(), "/valve"}, body};
}

garden::Valve relay(const keeper::RelayServer& server) {
    garden::Valve valve;
    valve.driver = "http";
    valve.channel = 1;
    valve.open = order_of(server, "open");
    valve.close = order_of(server, "closed");
    valve.read = garden::HttpReadBack{
        {{127, 0, 0, 1}, server.port(), "/valve"}, R"("state":"open")", R"("state":"closed")"};
    return valve;
}

} // namespace

TEST_CASE("SAFE-01: a relay in the network is closed at the start and at the end") {
    keeper::RelayServer server;
    server.open = true;
    Bench bench;
    {
        const auto board = bench.board_of({relay(server), valve(2, "valves.log")});
        REQUIRE(board.ok());
        CHECK_FALSE(server.open);
        (*board)->open("a", Seconds{60});
        REQUIRE(bench.hear(2)); // of the closing at the start, and of this
        CHECK(bench.reports.back().open);
        CHECK_FALSE(bench.reports.back().fault);
        CHECK(bench.reports.back().since.has_value());
        CHECK(server.open);
        CHECK((*board)->close_all().ok());
        CHECK_FALSE(server.open);
        (*board)->open("a", Seconds{60});
        REQUIRE(bench.hear(4));
        CHECK(server.open);
    }
    CHECK_FALSE(server.open);
}

TEST_CASE("SAFE-02: the lease of a relay in the network ends by itself") {
    keeper::RelayServer server;
    Bench bench;
    const auto board = bench.board_of({relay(server)});
    REQUIRE(board.ok());
    (*board)->open("a", Seconds{1});
    REQUIRE(bench.hear(3));
    CHECK(bench.reports[1].open);
    CHECK_FALSE(bench.reports[2].open);
    CHECK_FALSE(bench.reports[2].fault);
    CHECK_FALSE(server.open);
}

TEST_CASE("SAFE-19: a relay that is slow fails by itself, the other valve goes on") {
    keeper::RelayServer server;
    Bench bench;
    const auto board = bench.board_of({relay(server), valve(2, "valves.log")});
    REQUIRE(board.ok());
    REQUIRE(bench.hear(1));
    server.manner = Manner::slow;
    (*board)->open("a", Seconds{60});
    (*board)->open("b", Seconds{60});
    CHECK(bench.changes().back() == "2 open");
    REQUIRE(bench.hear(2));
    CHECK(bench.reports[1].zone == "b");
    (*board)->close("b");
    CHECK(bench.changes().back() == "2 closed");
    REQUIRE(bench.hear(4));
    CHECK(bench.reports[3].zone == "a");
    CHECK(bench.reports[3].fault);
    CHECK(bench.reports[3].open); // nobody knows
    CHECK(bench.reports[3].detail.find("does not answer in time") != std::string::npos);
    server.manner = Manner::good;
    REQUIRE(bench.hear(5));
    CHECK_FALSE(bench.reports[4].fault);
    CHECK_FALSE(bench.reports[4].open);
}

TEST_CASE("a relay that is gone keeps no other zone dry, and is a fault") {
    garden::Valve gone;
    {
        const keeper::RelayServer server;
        gone = relay(server);
    }
    Bench bench;
    const auto board = bench.board_of({gone, valve(2, "valves.log")});
    REQUIRE(board.ok());
    REQUIRE(bench.hear(1));
    CHECK(bench.reports[0].zone == "a");
    CHECK(bench.reports[0].fault);
    CHECK(bench.reports[0].open); // not known to be closed
    (*board)->open("b", Seconds{60});
    CHECK(bench.changes().back() == "2 open");
}

TEST_CASE("SAFE-23: off closes a relay in the network, and says which does not answer") {
    keeper::RelayServer server;
    server.open = true;
    Bench bench;
    const garden::Valve valve = relay(server);
    CHECK(close_without_daemon(valve, bench.garden()).ok());
    CHECK_FALSE(server.open);
    server.manner = Manner::refuses;
    const Status refused = close_without_daemon(valve, bench.garden());
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().message.find("answers with an error") != std::string::npos);
}

} // namespace firstmow::valves
