// What is on record, over HTTP: as JSON and CSV, page by page, by days; what an order would bring.
#include <set>
#include <utility>
#include <vector>

#include "asked.hpp" // last, as it brings doctest

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

std::string first_line(const std::string& text) {
    return text.substr(0, text.find('\n'));
}

} // namespace

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
