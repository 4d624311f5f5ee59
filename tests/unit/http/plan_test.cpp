// The plan over HTTP, with answers that are tried, and the calendars.
#include "base/text.hpp"

#include <utility>

#include "asked.hpp" // last, as it brings doctest

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

TEST_CASE("a plan is made with the answers of the query, and without any") {
    Asked asked;
    const auto answers = [&](const std::string& query) {
        const auto reply = asked.client.Get("/api/v1/plan" + query);
        REQUIRE(reply);
        CHECK_MESSAGE(reply->status == 200, query);
        CHECK_EQ(reply->get_header_value("Content-Type"), "application/json");
        renovation::Answers tried;
        asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) { tried = backend.answers_; });
        return tried;
    };
    CHECK(answers("") == renovation::Answers{});
    CHECK(answers("?zone=&traffic=&start=") == renovation::Answers{});
    renovation::Answers all;
    all.zone = "front";
    all.units = garden::Units::us;
    all.first_frost = std::chrono::month_day{std::chrono::month{10}, std::chrono::day{7}};
    all.grass_left_pct = 12.5;
    all.traffic = garden::Traffic::high;
    all.slope_pct = 0;
    all.instant = false;
    all.method = turf::Method::sod;
    all.start = parse_date("2026-09-05").value();
    all.mix = {{turf::Species::tall_fescue, 85}, {turf::Species::kentucky_bluegrass, 15}};
    all.water_price_per_m3 = 2.5;
    CHECK(answers("?zone=front&units=us&first_frost=10-07&grass_left_pct=12.5&traffic=high"
                  "&slope_pct=0&instant=false&method=sod&start=2026-09-05"
                  "&mix=tall_fescue%3A85,kentucky_bluegrass:15&water_price_per_m3=2.5") == all);
    const std::string calendar = "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n";
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) { backend.calendar_ = calendar; });
    const auto reply = asked.client.Get("/api/v1/plan.ics?zone=front&start=2026-09-05");
    REQUIRE(reply);
    CHECK_EQ(reply->get_header_value("Content-Type"), "text/calendar; charset=utf-8");
    CHECK_EQ(reply->get_header_value("Content-Disposition"), "attachment; filename=\"plan.ics\"");
    CHECK_EQ(reply->body, calendar);
}

TEST_CASE("an answer that cannot be is refused with one sentence that says what would be right") {
    Asked asked;
    const std::pair<const char*, const char*> wrong[] = {
        {"grass_left_pct=101", "'grass_left_pct' must be a number from 0 to 100"},
        {"grass_left_pct=-1", "'grass_left_pct' must be a number from 0 to 100"},
        {"grass_left_pct=much", "'grass_left_pct' must be a number from 0 to 100"},
        {"slope_pct=nan", "'slope_pct' must be a number from 0 to 100"},
        {"slope_pct=1e999", "'slope_pct' must be a number from 0 to 100"},
        {"traffic=heavy", "'traffic' must be low, medium or high"},
        {"instant=yes", "'instant' must be false or true"},
        {"method=none", "'method' must be seed, overseed or sod"},
        {"units=imperial", "'units' must be metric or us"},
        {"start=2026-02-30", "'start' is not a date from 2000 to 2099; write it as 2026-08-22"},
        {"start=1999-12-31", "'start' is not a date from 2000 to 2099; write it as 2026-08-22"},
        {"first_frost=02-29", "'first_frost' is not a day of every year; write month and day as "
                              "10-07"},
        {"first_frost=2026-10-07", "'first_frost' is not a day of every year; write month and day "
                                   "as 10-07"},
        {"water_price_per_m3=-1", "'water_price_per_m3' must be a number from 0 to 1000"},
        {"mix=moss:20", "'mix' has 'moss:20', which is no part of it; each species once with its "
                        "parts by weight, such as tall_fescue:85,kentucky_bluegrass:15, would be "
                        "right"},
        {"grass=20", "the query has no parameter 'grass'"},
        {"zone=front&zone=side", "the query gives 'zone' twice; give it once"}};
    for (const auto& [query, detail] : wrong) {
        CAPTURE(query);
        for (const char* path : {"/api/v1/plan?", "/api/v1/plan.ics?"}) {
            const auto reply = asked.client.Get(std::string(path) + query);
            REQUIRE(reply);
            CHECK_EQ(reply->status, 400);
            CHECK_EQ(reply->get_header_value("Content-Type"), "application/problem+json");
            CHECK_EQ(json::parse(reply->body)["detail"].get<std::string>().find(detail), 0);
        }
    }
    CHECK_EQ(asked.client.Get("/api/v1/plan?zone=nowhere")->status, 404);
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.refuse_answers_ = "the garden has several zones";
    });
    CHECK_EQ(asked.client.Get("/api/v1/plan")->status, 400);
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.refuse_answers_.clear();
        backend.plan_fails_ = true;
    });
    CHECK_EQ(asked.client.Get("/api/v1/plan")->status, 503);
}

TEST_CASE("the calendar is given as text/calendar, byte for byte") {
    Asked asked;
    const std::string text = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VCALENDAR\r\n";
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) { backend.calendar_ = text; });
    const auto reply = asked.client.Get("/calendar.ics");
    REQUIRE(reply);
    CHECK_EQ(reply->status, 200);
    CHECK_EQ(reply->get_header_value("Content-Type"), "text/calendar; charset=utf-8");
    CHECK_EQ(reply->body, text);
}
