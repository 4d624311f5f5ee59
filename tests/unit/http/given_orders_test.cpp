// Orders over HTTP: they reach the engine as they were meant; what it refuses is said in its words.
#include <vector>

#include "asked.hpp" // last, as it brings doctest

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

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
