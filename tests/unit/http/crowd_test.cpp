// Many clients, slow clients and event streams: none delays another.
#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <chrono>
#include <functional>
#include <memory>
#include <vector>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

const std::string kStream = "GET /api/v1/stream HTTP/1.1\r\nHost: localhost\r\n\r\n";

// Turns the loop until `reached` holds; a test must not wait for ever.
bool eventually(Serving& serving, const std::function<bool(HttpServer&)>& reached) {
    const auto give_up = std::chrono::steady_clock::now() + Seconds(30);
    bool done = false;
    while (!done && std::chrono::steady_clock::now() < give_up)
        serving.on_loop([&](FakeBackend&, HttpServer& server) { done = reached(server); });
    return done;
}

bool streams_become(Serving& serving, std::size_t wanted) {
    return eventually(serving, [&](HttpServer& server) { return server.streams() == wanted; });
}

} // namespace

TEST_CASE("two pages hear of one order") {
    Serving serving;
    BareSocket one(serving.port());
    BareSocket two(serving.port());
    one.send(kStream);
    two.send(kStream);
    const std::string head = one.receive("\n\nevent: status\n");
    CHECK(head.starts_with("HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\n"));
    CHECK_NE(head.find("Cache-Control: no-store"), std::string::npos);
    two.receive("\n\nevent: status\n");
    httplib::Client client("127.0.0.1", serving.port());
    const auto reply =
        client.Post("/api/v1/zones/side/water", {{"Authorization", std::string("Bearer ") + kKey}},
                    R"({"minutes": 3})", "application/json");
    REQUIRE(reply);
    REQUIRE_EQ(reply->status, 200);
    for (BareSocket* page : {&one, &two}) {
        const std::string event = page->receive("\"valve\":\"open\"");
        CHECK_NE(event.find("\"valve\":\"open\""), std::string::npos);
    }
}

TEST_CASE("a stream shows that it still stands") {
    Serving serving(Limits{.heartbeat = Seconds(0)});
    BareSocket page(serving.port());
    page.send(kStream);
    const std::string text = page.receive("event: tick\ndata: {\"time\":\"2026-08-30T18:20:00Z\"");
    CHECK_NE(text.find(": still here\nevent: tick\n"), std::string::npos);
}

TEST_CASE("streams are bounded, and free again when a page goes") {
    Serving serving(Limits{.streams = 2});
    auto one = std::make_unique<BareSocket>(serving.port());
    BareSocket two(serving.port());
    one->send(kStream);
    two.send(kStream);
    one->receive("event: status");
    two.receive("event: status");
    BareSocket three(serving.port());
    three.send(kStream);
    const std::string full = three.receive("\r\n\r\n");
    CHECK(full.starts_with("HTTP/1.1 503 "));
    CHECK_NE(full.find("Retry-After: 30"), std::string::npos);
    one.reset();
    CHECK(streams_become(serving, 1));
    BareSocket four(serving.port());
    four.send(kStream);
    CHECK(four.receive("event: status").starts_with("HTTP/1.1 200 "));
}

TEST_CASE("a flood of streams gets its bounded share and no more") {
    Serving serving;
    std::vector<std::unique_ptr<BareSocket>> pages;
    for (int i = 0; i < 300; ++i) {
        pages.push_back(std::make_unique<BareSocket>(serving.port()));
        pages.back()->send(kStream);
    }
    CHECK(streams_become(serving, Limits{}.streams));
    httplib::Client client("127.0.0.1", serving.port());
    const auto reply = client.Post(
        "/api/v1/stop", {{"Authorization", std::string("Bearer ") + kKey}}, "", "application/json");
    REQUIRE(reply);
    CHECK_EQ(reply->status, 200);
    serving.on_loop([](FakeBackend&, HttpServer& server) {
        CHECK_LE(server.connections(), Limits{}.connections + Limits{}.streams);
    });
}

TEST_CASE("slow requests delay nobody and make room when all places are taken") {
    Serving serving(Limits{.connections = 8});
    std::vector<std::unique_ptr<BareSocket>> slow;
    for (int i = 0; i < 30; ++i) {
        slow.push_back(std::make_unique<BareSocket>(serving.port()));
        slow.back()->send("GET /api/v1/status HTTP/1.1\r\nHost: loc");
    }
    httplib::Client client("127.0.0.1", serving.port());
    client.set_read_timeout(10);
    const auto reply = client.Get("/healthz");
    REQUIRE(reply);
    CHECK_EQ(reply->status, 200);
    CHECK(slow.front()->closed()); // the one that dawdled longest
}

TEST_CASE("a request that does not end is cut off") {
    Serving serving(Limits{.request_time = Seconds(1)});
    BareSocket slow(serving.port());
    slow.send("GET /api/v1/status HTT");
    CHECK(slow.closed());
    BareSocket idle(serving.port());
    CHECK(idle.closed());
}

TEST_CASE("a reader that does not read holds no memory and delays nobody") {
    Serving serving(Limits{.event_time = Seconds(1)});
    BareSocket deaf(serving.port());
    deaf.send(kStream);
    REQUIRE(streams_become(serving, 1));
    // Far more than the sockets between us hold: it must be dropped, not queued for.
    const bool dropped = eventually(serving, [](HttpServer& server) {
        server.publish();
        return server.streams() == 0;
    });
    CHECK(dropped);
    httplib::Client client("127.0.0.1", serving.port());
    CHECK_EQ(client.Get("/healthz")->status, 200);
}

TEST_CASE("replies that wait for slow readers are bounded") {
    Serving serving(Limits{.waiting_bytes = 4000});
    httplib::Client client("127.0.0.1", serving.port());
    const auto large = client.Get("/api/v1/moisture");
    REQUIRE(large);
    CHECK_EQ(large->status, 503);
    CHECK_EQ(large->get_header_value("Retry-After"), "5");
    CHECK_EQ(client.Get("/healthz")->status, 200);
}

TEST_CASE("a backend that does not answer is not waited for") {
    Serving serving(Limits{.answer_time = Seconds(1)});
    serving.on_loop([](FakeBackend& backend, HttpServer&) { backend.never_answer_ = true; });
    BareSocket asker(serving.port());
    asker.send("GET /api/v1/cycles HTTP/1.1\r\nHost: localhost\r\n\r\n");
    asker.send("GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
    const std::string replies = asker.receive();
    CHECK((replies.starts_with("HTTP/1.1 504 ") || replies.empty()));
    httplib::Client client("127.0.0.1", serving.port());
    CHECK_EQ(client.Get("/healthz")->status, 200);
}

TEST_CASE("a fault in one request is not the end of the others") {
    Serving serving;
    serving.on_loop([](FakeBackend& backend, HttpServer&) { backend.throw_ = true; });
    httplib::Client client("127.0.0.1", serving.port());
    CHECK_EQ(client.Get("/api/v1/days/2026-08-30")->status, 500);
    CHECK_EQ(client.Get("/healthz")->status, 200);
}

TEST_CASE("closing ends streams and idle connections") {
    Serving serving;
    BareSocket page(serving.port());
    page.send(kStream);
    page.receive("event: status");
    BareSocket idle(serving.port());
    idle.send("GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n");
    idle.receive("\"ok\"");
    serving.on_loop([](FakeBackend&, HttpServer& server) { server.close(); });
    CHECK(page.closed());
    CHECK(idle.closed());
    httplib::Client client("127.0.0.1", serving.port());
    CHECK_FALSE(client.Get("/healthz"));
}
