// What each route gives to someone who asks as they should.
#include "serving.hpp"

#include "base/text.hpp"
#include "http/app.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <set>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

const httplib::Headers kWithKey{{"Authorization", std::string("Bearer ") + kKey}};

struct Asked {
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};

    json get(const std::string& path) {
        const auto reply = client.Get(path);
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        REQUIRE_EQ(reply->get_header_value("Content-Type"), "application/json");
        return json::parse(reply->body);
    }
    std::string csv(const std::string& path) {
        const auto reply = client.Get(path, {{"Accept", "text/csv"}});
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        CHECK(reply->get_header_value("Content-Type").starts_with("text/csv"));
        return reply->body;
    }
    json post(const std::string& path, const std::string& body) {
        const auto reply = client.Post(path, kWithKey, body, "application/json");
        REQUIRE(reply);
        REQUIRE_MESSAGE(reply->status == 200, reply->body);
        return json::parse(reply->body);
    }
};

std::string first_line(const std::string& text) {
    return text.substr(0, text.find('\n'));
}

} // namespace

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

TEST_CASE("records come as JSON and as CSV with the columns of the contract") {
    Asked asked;
    const engine::Decision decision{.time = parse_iso8601("2026-08-30T12:00:00Z").value(),
                                    .zone = "front",
                                    .verdict = engine::Verdict::plan,
                                    .start = parse_iso8601("2026-08-30T13:00:00Z").value(),
                                    .run_s = 420,
                                    .reason = "keep_damp",
                                    .explanation = "Dry at 14:00, so water at 13:00, \"early\"."};
    asked.serving.on_loop(
        [&](FakeBackend& backend, HttpServer&) { backend.decisions_.push_back(decision); });
    CHECK_EQ(first_line(asked.csv("/api/v1/cycles")),
             "zone,start,end,planned_s,run_s,depth_mm,volume_l,reason,outcome");
    CHECK_EQ(first_line(asked.csv("/api/v1/moisture")),
             "time,zone,phase,seed_zone_mm,seed_zone_kpa,low_quarter_kpa,root_zone_mm,"
             "evaporation_mm,transpiration_mm,rain_mm,applied_mm,runoff_mm,drainage_mm,"
             "soil_temp_c");
    CHECK_EQ(asked.csv("/api/v1/decisions"),
             "time,zone,decision,start,run_s,reason,explanation\n"
             "2026-08-30T12:00:00Z,front,plan,2026-08-30T13:00:00Z,420,keep_damp,"
             "\"Dry at 14:00, so water at 13:00, \"\"early\"\".\"\n");

    const json decisions = asked.get("/api/v1/decisions?zone=front");
    REQUIRE_EQ(decisions.size(), 1);
    CHECK_EQ(decisions[0]["decision"], "plan");
    CHECK_EQ(decisions[0]["explanation"], decision.explanation);
    const json cycles = asked.get("/api/v1/cycles?zone=front");
    REQUIRE_EQ(cycles.size(), 5);
    CHECK_EQ(cycles[0]["run_s"], 420);
    CHECK_EQ(cycles[0]["depth_mm"], 1.4);
    CHECK_EQ(cycles[0]["outcome"], "completed");
}

TEST_CASE("records are bounded by zone, time and limit, and the next page is named") {
    Asked asked;
    const auto all = asked.get("/api/v1/moisture?from=2026-08-29T18:20:00Z");
    CHECK_EQ(all.size(), 4 * (24 * 6 + 1));
    std::size_t seen = 0;
    std::string path = "/api/v1/moisture?from=2026-08-29T18:20:00Z&limit=90";
    std::set<std::string> keys;
    for (int page = 0; page < 20 && !path.empty(); ++page) {
        const auto reply = asked.client.Get(path);
        REQUIRE(reply);
        REQUIRE_EQ(reply->status, 200);
        for (const json& row : json::parse(reply->body)) {
            ++seen;
            keys.insert(row["time"].get<std::string>() + row["zone"].get<std::string>());
        }
        const std::string link = reply->get_header_value("Link");
        path = link.empty() ? "" : link.substr(1, link.find('>') - 1);
    }
    CHECK(path.empty());
    CHECK_EQ(seen, all.size());
    CHECK_EQ(keys.size(), all.size()); // none twice

    for (const auto& [query, status] : std::vector<std::pair<std::string, int>>{
             {"zone=nowhere", 404},
             {"from=yesterday", 400},
             {"from=2026-08-30T00:00:00Z&to=2026-08-30T00:00:00Z", 400},
             {"limit=0", 400},
             {"limit=5001", 400},
             {"limit=1.5", 400},
             {"zon=front", 400},
             {"zone=front&zone=side", 400},
             {"zone=%zz", 400},
             {"zone=%66ront", 200}}) {
        const auto reply = asked.client.Get("/api/v1/cycles?" + query);
        REQUIRE(reply);
        CHECK_MESSAGE(reply->status == status, query);
    }
}

TEST_CASE("the course of the last day sums the half hours") {
    Asked asked;
    const json course = asked.get("/api/v1/course");
    CHECK_EQ(course["step_s"], 1800);
    const json& front = course["zones"]["front"];
    CHECK_EQ(front.size(), 48);
    double rain_mm = 0;
    for (const json& slot : front)
        rain_mm += slot["rain_mm"].get<double>();
    CHECK_EQ(rain_mm, doctest::Approx(6 * 0.9));
}

TEST_CASE("the review of a day adds up") {
    Asked asked;
    const json day = asked.get("/api/v1/days/2026-08-30");
    CHECK_EQ(day["date"], "2026-08-30");
    REQUIRE_EQ(day["zones"].size(), 4);
    const json& front = day["zones"][0];
    CHECK_EQ(front["zone"], "front");
    CHECK_EQ(front["runs"], 4);
    CHECK_EQ(front["volume_l"], doctest::Approx(4 * 1.4 * 90));
    for (const char* name : {"weather", "cycles", "decisions", "phases", "notices"})
        CHECK(day[name].is_array());
    CHECK_EQ(front["given"].size(), 4);
    CHECK_EQ(front["given"][0]["run_s"], 420);
    CHECK_EQ(day["summary"]["runs"], 8);
    CHECK_EQ(day["course"]["zones"]["front"][0]["time"], "2026-08-30T05:00:00Z");
    CHECK_NE(day["text"].get<std::string>().find("8 runs brought"), std::string::npos);
    const auto wrong = asked.client.Get("/api/v1/days/2026-02-30");
    REQUIRE(wrong);
    CHECK_EQ(wrong->status, 400);
}

TEST_CASE("a row of days, from the beginning of the season to today") {
    Asked asked;
    const json days = asked.get("/api/v1/days");
    REQUIRE_EQ(days.size(), 10);
    CHECK_EQ(days[0]["date"], "2026-08-21");
    CHECK_EQ(days[9]["date"], "2026-08-30");
    CHECK_EQ(days[1]["hot"], false);
    CHECK_EQ(days[4]["hot"], true);
    CHECK_EQ(asked.get("/api/v1/days?from=2026-08-29&to=2026-08-30").size(), 2);
    for (const char* query :
         {"from=yesterday", "from=2026-08-31&to=2026-08-30", "from=2020-01-01", "zone=front"}) {
        const auto refused = asked.client.Get(std::string("/api/v1/days?") + query);
        REQUIRE(refused);
        CHECK_MESSAGE(refused->status == 400, query);
    }
}

TEST_CASE("what an order would bring is told before it is given") {
    Asked asked;
    const json seen = asked.get("/api/v1/zones/front/foresight?minutes=6");
    CHECK_EQ(seen["zone"], "front");
    CHECK_EQ(seen["runs"].size(), 2);
    CHECK_EQ(seen["lasts_until"], "2026-08-30T20:20:00Z");
    CHECK(seen["dry_from"].is_null());
    CHECK(asked.get("/api/v1/zones/front/foresight?hold_hours=24")["lasts_until"].is_null());
    for (const char* query : {"", "?minutes=0", "?minutes=241", "?minutes=five", "?hold_hours=500",
                              "?minutes=5&hold_hours=5", "?hours=3"}) {
        const auto refused = asked.client.Get(std::string("/api/v1/zones/front/foresight") + query);
        REQUIRE(refused);
        CHECK_MESSAGE(refused->status == 400, query);
    }
    const auto unknown = asked.client.Get("/api/v1/zones/back/foresight?minutes=5");
    REQUIRE(unknown);
    CHECK_EQ(unknown->status, 404);
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

TEST_CASE("orders reach the engine as they were meant") {
    Asked asked;
    CHECK_EQ(asked.post("/api/v1/zones/front/water", R"({"minutes": 8.5})")["run_s"], 510);
    CHECK_EQ(asked.get("/api/v1/status")["zones"][0]["valve"], "open");
    asked.post("/api/v1/zones/front/stop", "");
    CHECK_EQ(asked.post("/api/v1/zones/side/hold", R"({"hours": 24})")["until"],
             "2026-08-31T18:20:00Z");
    CHECK_EQ(asked.get("/api/v1/status")["zones"][1]["hold_until"], "2026-08-31T18:20:00Z");
    const auto released = asked.client.Delete("/api/v1/zones/side/hold", kWithKey);
    REQUIRE(released);
    CHECK_EQ(released->status, 200);
    CHECK_EQ(asked.post("/api/v1/zones/side/mow", R"({"at": "2026-08-31T15:00:00.250Z"})")["at"],
             "2026-08-31T15:00:00Z");
    CHECK_EQ(asked.get("/api/v1/status")["zones"][1]["mow_planned"]["firm_from"],
             "2026-08-31T03:00:00Z");
    CHECK_EQ(asked.client.Delete("/api/v1/zones/side/mow", kWithKey)->status, 200);
    CHECK(asked.get("/api/v1/status")["zones"][1]["mow_planned"].is_null());
    asked.post("/api/v1/zones/side/observations", R"({"kind": "surface_dry"})");
    asked.post("/api/v1/zones/side/observations",
               R"({"kind": "catch_cans", "readings_ml": [21, 0], "opening_cm2": 105, )"
               R"("minutes": 10})");
    asked.post("/api/v1/zones/side/observations",
               R"({"kind": "soil_probe", "depth_mm": 50, "kpa": -35})");
    CHECK_EQ(asked.client.Delete("/api/v1/zones/side/corrections/last", kWithKey)->status, 200);
    CHECK_EQ(asked.client.Delete("/api/v1/zones/side/corrections", kWithKey)->status, 200);
    asked.post("/api/v1/stop", "{}");

    const auto orders = asked.serving.backend().orders();
    REQUIRE_EQ(orders.size(), 12);
    CHECK_EQ(std::get<engine::WaterOrder>(orders[0]).run_s, 510);
    CHECK_EQ(std::get<engine::StopOrder>(orders[1]).zone, "front");
    CHECK_EQ(std::get<engine::HoldOrder>(orders[2]).zone, "side");
    CHECK_EQ(std::get<engine::HoldRelease>(orders[3]).zone, "side");
    CHECK(std::get<engine::MowPlan>(orders[4]).at == parse_iso8601("2026-08-31T15:00:00Z").value());
    CHECK_FALSE(std::get<engine::MowPlan>(orders[5]).at.has_value());
    CHECK(std::get<engine::Observation>(orders[6]).kind == turf::ObservationKind::surface_dry);
    const auto cans = std::get<engine::CatchCanTest>(orders[7]);
    CHECK_EQ(cans.zone, "side");
    CHECK_EQ(cans.cans.minutes, 10);
    CHECK(cans.cans.depth_mm == std::vector<double>{2, 0});
    const auto probe = std::get<engine::SoilProbe>(orders[8]);
    CHECK_EQ(probe.depth_mm, 50);
    CHECK(probe.kpa == -35);
    CHECK_FALSE(probe.water_fraction);
    CHECK_FALSE(std::get<engine::CorrectionUndo>(orders[9]).all);
    CHECK(std::get<engine::CorrectionUndo>(orders[10]).all);
    CHECK_EQ(std::get<engine::StopOrder>(orders[11]).zone, "");
}

TEST_CASE("what the engine refuses is said in its words") {
    Asked asked;
    asked.serving.on_loop([](FakeBackend& backend, HttpServer&) {
        backend.refuse_orders_ = "the valve of front does not answer";
    });
    const auto reply = asked.client.Post("/api/v1/zones/front/water", kWithKey, R"({"minutes": 8})",
                                         "application/json");
    REQUIRE(reply);
    CHECK_EQ(reply->status, 409);
    CHECK_EQ(json::parse(reply->body)["detail"], "the valve of front does not answer");
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
    CHECK(answers("?zone=front&units=us&first_frost=10-07&grass_left_pct=12.5&traffic=high"
                  "&slope_pct=0&instant=false&method=sod&start=2026-09-05") == all);
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

TEST_CASE("a station is heard with its own key, in query, form and JSON") {
    Asked asked;
    auto& client = asked.client;
    const std::string query = "ID=yard&PASSWORD=station-key&tempf=70&dateutc=now";
    for (const char* path :
         {"/api/v1/weather/stations/yard", "/weatherstation/updateweatherstation.php"}) {
        const auto reply = client.Get(path + ("?" + query));
        REQUIRE(reply);
        CHECK_EQ(reply->status, 200);
        CHECK_EQ(reply->body, "success\n");
    }
    const auto form = client.Post("/api/v1/weather/stations/yard", "PASSKEY=station-key&tempf=71",
                                  "application/x-www-form-urlencoded");
    REQUIRE(form);
    CHECK_EQ(form->status, 200);
    const httplib::Headers station{{"Authorization", "Bearer station-key"}};
    const auto told = client.Post("/api/v1/weather/stations/yard", station, R"({"air_temp_c": 21})",
                                  "application/json");
    REQUIRE(told);
    CHECK_EQ(told->status, 200);
    CHECK_EQ(json::parse(told->body)["accepted"], "weather");
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) {
        REQUIRE_EQ(backend.station_words_.size(), 4);
        CHECK_EQ(backend.station_words_[0], "yard form " + query);
        CHECK_EQ(backend.station_words_[1], " form " + query);
        CHECK_EQ(backend.station_words_[2], "yard form PASSKEY=station-key&tempf=71");
        CHECK_EQ(backend.station_words_[3], R"(yard json {"air_temp_c": 21})");
        backend.station_refusal_ = "tempf is no number";
    });
    const auto refused = client.Get("/api/v1/weather/stations/yard?" + query);
    REQUIRE(refused);
    CHECK_EQ(refused->status, 422);
    CHECK_EQ(json::parse(refused->body)["detail"], "tempf is no number");
}

TEST_CASE("a station's key opens nothing else, and no other key is a station's") {
    Asked asked;
    auto& client = asked.client;
    const httplib::Headers station{{"Authorization", "Bearer station-key"}};
    const auto order =
        client.Post("/api/v1/zones/front/water", station, R"({"minutes": 8})", "application/json");
    REQUIRE(order);
    CHECK_EQ(order->status, 401);
    for (const char* query : {"tempf=70", "PASSWORD=&tempf=70", "PASSWORD=guess&tempf=70"}) {
        const auto reply = client.Get(std::string("/api/v1/weather/stations/yard?") + query);
        REQUIRE(reply);
        CHECK_EQ(reply->status, 401);
    }
    const auto text =
        client.Post("/api/v1/weather/stations/yard?PASSWORD=station-key", "tempf=70", "text/plain");
    REQUIRE(text);
    CHECK_EQ(text->status, 415);
    // A form is for stations only.
    const auto form = client.Post("/api/v1/zones/front/water", kWithKey, "minutes=8",
                                  "application/x-www-form-urlencoded");
    REQUIRE(form);
    CHECK_EQ(form->status, 415);
    // Guessing is braked as for the other key.
    int status = 401;
    for (int i = 0; i < 12 && status == 401; ++i)
        status = client.Get("/api/v1/weather/stations/yard?PASSWORD=guess&tempf=70")->status;
    CHECK_EQ(status, 429);
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) {
        CHECK(backend.station_words_.empty());
        CHECK(backend.orders().empty());
    });
}

TEST_CASE("the weather: its sources as they stand, and the hours that were used") {
    Asked asked;
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) {
        engine::WeatherUsed used;
        used.hour.start = parse_iso8601("2026-08-30T17:00:00Z").value();
        used.hour.air_temp_c = 24.5;
        used.sources = "yard yard - far yard";
        backend.weather_.used = {used};
        backend.change([](engine::GardenView& view) {
            view.weather_note = "Weather unknown for 9 h; assuming a warm clear day.";
        });
    });
    json weather = asked.get("/api/v1/weather");
    CHECK(weather["desk"].is_null());
    CHECK_EQ(weather["note"], "Weather unknown for 9 h; assuming a warm clear day.");
    CHECK_EQ(weather["used"][0]["sources"], "yard yard - far yard");
    CHECK_EQ(asked.get("/api/v1/status")["weather_note"], weather["note"]);
    asked.serving.on_loop([&](FakeBackend& backend, HttpServer&) {
        backend.weather_.desk = R"({"sources":[{"id":"yard"}]})";
    });
    weather = asked.get("/api/v1/weather");
    CHECK_EQ(weather["desk"]["sources"][0]["id"], "yard");
}
