// What each route gives to someone who asks as they should: the state, the page, the description.
#include "http/app.hpp"

#include <set>

#include "asked.hpp" // last, as it brings doctest

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

TEST_CASE("status has the names of the contract") {
    Asked asked;
    const json status = asked.get("/api/v1/status");
    CHECK_EQ(status["time"], "2026-08-30T18:20:00Z");
    REQUIRE_EQ(status["zones"].size(), 4);
    CHECK_EQ(status["clock_offsets"][0]["from"], "2026-03-08T08:00:00Z");
    CHECK_EQ(status["clock_offsets"][0]["utc_offset_s"], -18000);
    const json& front = status["zones"][0];
    CHECK_EQ(front["id"], "front");
    CHECK_EQ(front["name"], "Front lawn");
    CHECK_EQ(front["phase"], "emergence");
    CHECK_EQ(front["valve"], "closed");
    CHECK(front["seed_zone_kpa"].is_number());
    CHECK_LT(front["low_quarter_kpa"].get<double>(), front["seed_zone_kpa"].get<double>());
    CHECK_EQ(front["next"]["start"], "2026-08-30T20:30:00Z");
    CHECK_EQ(front["next"]["run_s"], 420);
    CHECK(front["next"]["explanation"].is_string());
    CHECK(front["hold_until"].is_null());
    CHECK(status["zones"][3]["next"].is_null());
    CHECK_EQ(front["outlook"]["step_s"], 1800);
    CHECK_EQ(front["outlook"]["low_quarter_kpa"].size(), 48);
}

TEST_CASE("a value that is not finite is null, a name that is not UTF-8 is mended") {
    Asked asked;
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.change([](engine::GardenView& view) {
            view.zones[0].seed_zone_kpa = -std::numeric_limits<double>::infinity();
            view.zones[0].name = "<img src=x onerror=alert(1)>";
            view.zones[1].name = "caf\xe9";
        });
    });
    const json status = asked.get("/api/v1/status");
    CHECK(status["zones"][0]["seed_zone_kpa"].is_null());
    // It comes back as data; the page sets text, never HTML.
    CHECK_EQ(status["zones"][0]["name"], "<img src=x onerror=alert(1)>");
    CHECK_EQ(status["zones"][1]["name"], "caf\xef\xbf\xbd");
}

TEST_CASE("healthz says when the control loop has stopped stepping") {
    Asked asked;
    CHECK_EQ(asked.get("/healthz")["status"], "ok");
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.health_ = {false, Seconds(600), "no step for 10 min"};
    });
    const auto reply = asked.client.Get("/healthz");
    REQUIRE(reply);
    CHECK_EQ(reply->status, 503);
    const json body = json::parse(reply->body);
    CHECK_EQ(body["status"], "stalled");
    CHECK_EQ(body["step_age_s"], 600);
}

TEST_CASE("metrics in both text forms") {
    Asked asked;
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.change([](engine::GardenView& view) {
            turf::SpeciesProspect rye;
            rye.species = turf::Species::perennial_ryegrass;
            rye.up = 0.25;
            view.zones[0].prospect.species = {rye};
            view.zones[0].stand = {0.9, 0.7};
        });
    });
    const auto plain = asked.client.Get("/metrics");
    REQUIRE(plain);
    CHECK_EQ(plain->get_header_value("Content-Type"), "text/plain; version=0.0.4; charset=utf-8");
    CHECK_NE(plain->body.find("firstmow_valve_open{zone=\"front\"} 0\n"), std::string::npos);
    CHECK_NE(plain->body.find("# TYPE firstmow_http_requests_total counter"), std::string::npos);
    for (const std::string line :
         {"firstmow_stand_ratio{zone=\"front\"} 0.900\n",
          "firstmow_stand_driest_quarter_ratio{zone=\"front\"} 0.700\n",
          "firstmow_emergence_ratio{zone=\"front\",species=\"perennial_ryegrass\"} 0.250\n"})
        CHECK_MESSAGE(plain->body.find(line) != std::string::npos, line);
    // A zone without seed has no stand.
    CHECK_EQ(plain->body.find("firstmow_stand_ratio{zone=\"side\"}"), std::string::npos);
    CHECK_EQ(plain->body.find("# EOF"), std::string::npos);
    const auto open = asked.client.Get(
        "/metrics", {{"Accept", "application/openmetrics-text;version=1.0.0;q=0.5,*/*;q=0.1"}});
    REQUIRE(open);
    CHECK(open->get_header_value("Content-Type").starts_with("application/openmetrics-text"));
    CHECK(open->body.ends_with("# EOF\n"));
    CHECK_NE(open->body.find("# TYPE firstmow_http_requests counter"), std::string::npos);
}

TEST_CASE("the page and its files are there, and are not sent twice") {
    Asked asked;
    for (const char* path :
         {"/", "/app.css", "/app.js", "/day.html", "/day.css", "/day.js", "/season.html",
          "/season.css", "/season.js", "/plan.html", "/plan.css", "/plan.js", "/setup.html",
          "/setup.css", "/setup.js", "/icon.svg", "/manifest.webmanifest"}) {
        const auto reply = asked.client.Get(path);
        REQUIRE(reply);
        CHECK_MESSAGE(reply->status == 200, path);
        const std::string etag = reply->get_header_value("ETag");
        CHECK_FALSE(etag.empty());
        CHECK(reply->get_header_value("Content-Security-Policy")
                  .starts_with("default-src 'none'; script-src 'self'"));
        const auto again = asked.client.Get(path, {{"If-None-Match", etag}});
        REQUIRE(again);
        CHECK_EQ(again->status, 304);
        CHECK(again->body.empty());
    }
    const auto head = asked.client.Head("/");
    REQUIRE(head);
    CHECK_EQ(head->status, 200);
    CHECK(head->body.empty());
}

TEST_CASE("the description names every route and no other") {
    Asked asked;
    const json description = asked.get("/api/v1/openapi.json");
    CHECK_EQ(description["openapi"], "3.1.0");
    std::set<std::string> described;
    for (const auto& [path, methods] : description["paths"].items())
        for (const auto& [method, operation] : methods.items()) {
            std::string name = method;
            for (char& c : name)
                c = static_cast<char>(std::toupper(c));
            described.insert(name + ' ' + path);
        }
    std::set<std::string> routes{"GET /api/v1/openapi.json"};
    for (const std::string& route : App::route_list())
        routes.insert(route);
    CHECK_EQ(described, routes);
}
