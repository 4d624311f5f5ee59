// The calendar's secret address: opens the calendar and nothing else, until it is taken away.
#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

const httplib::Headers kWithKey{{"Authorization", std::string("Bearer ") + kKey}};
constexpr const char* kAddress = "/api/v1/calendar-address";

struct Garden {
    Serving serving{{}, {.key_sha256 = sha256_hex(kKey), .reads_closed = true}};
    httplib::Client client{"127.0.0.1", serving.port()};

    Garden() {
        serving.on_loop([](FakeBackend& backend, HttpServer&) {
            backend.calendar_ = "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n";
        });
    }
    int get(const std::string& path) { return client.Get(path)->status; }
    std::string make() {
        const auto made = client.Post(kAddress, kWithKey, "", "application/json");
        REQUIRE(made);
        REQUIRE_EQ(made->status, 200);
        return json::parse(made->body)["path"];
    }
};

} // namespace

TEST_CASE("feed: a calendar program reads a closed garden by the secret address, and only that") {
    Garden garden;
    CHECK_EQ(garden.get("/calendar.ics"), 401);
    CHECK(json::parse(garden.client.Get(kAddress, kWithKey)->body)["made"].is_null());
    const std::string path = garden.make();
    const auto calendar = garden.client.Get(path);
    REQUIRE_EQ(calendar->status, 200);
    CHECK_EQ(calendar->get_header_value("Content-Type"), "text/calendar; charset=utf-8");
    CHECK_EQ(calendar->body, garden.client.Get("/calendar.ics", kWithKey)->body);
    const std::string address = path.substr(10, 32);
    CHECK_EQ(garden.get("/calendar/" + address), 200); // some programs leave the ending out
    // It is no key.
    const httplib::Headers bearer{{"Authorization", "Bearer " + address}};
    CHECK_EQ(garden.client.Get("/api/v1/status", bearer)->status, 401);
    CHECK_EQ(garden.client.Post("/api/v1/stop", bearer, "", "application/json")->status, 401);
    CHECK_EQ(garden.get("/api/v1/status"), 401);
    CHECK_EQ(json::parse(garden.client.Get(kAddress, kWithKey)->body)["made"],
             "2026-08-30T18:20:00Z");
}

TEST_CASE("feed: another address, or none, ends the one before") {
    Garden garden;
    const std::string first = garden.make();
    const std::string second = garden.make();
    CHECK_NE(first, second);
    CHECK_EQ(garden.get(first), 404);
    CHECK_EQ(garden.get(second), 200);
    CHECK_EQ(garden.client.Delete(kAddress, kWithKey)->status, 200);
    CHECK_EQ(garden.get(second), 404);
}

TEST_CASE("feed: only who is signed in makes, sees or ends an address") {
    Garden garden;
    CHECK_EQ(garden.get(kAddress), 401);
    CHECK_EQ(garden.client.Post(kAddress, "", "application/json")->status, 401);
    CHECK_EQ(garden.client.Delete(kAddress)->status, 401);
    httplib::Headers foreign = kWithKey;
    foreign.emplace("Origin", "http://evil.example");
    CHECK_EQ(garden.client.Post(kAddress, foreign, "", "application/json")->status, 403);
    // Not even the beginning of one that exists, nor nothing.
    const std::string path = garden.make();
    for (const std::string& wrong :
         {std::string("/calendar/.ics"), path.substr(0, 30), path.substr(0, 30) + ".ics"})
        CHECK_EQ(garden.get(wrong), 404);
}

TEST_CASE("feed: addresses are not guessed at without end") {
    Garden garden;
    const std::string path = garden.make();
    for (int i = 0; i < 10; ++i)
        CHECK_EQ(garden.get("/calendar/guess" + std::to_string(i) + ".ics"), 404);
    CHECK_EQ(garden.get(path), 429);
    garden.serving.on_loop(
        [](FakeBackend& backend, HttpServer&) { backend.advance(std::chrono::seconds(61)); });
    CHECK_EQ(garden.get(path), 200);
}
