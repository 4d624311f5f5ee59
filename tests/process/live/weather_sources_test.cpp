// The daemon with a public forecast and a station of the owner's, played by the test: both are
// heard, a restart keeps what they said, and a service that fails is told of and harms nothing.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <httplib.h>
#include <nlohmann/json.hpp>

#include <atomic>
#include <thread>

namespace firstmow::process {

namespace {

using Json = nlohmann::json;

std::string forecast_json() {
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now());
    Json times = Json::array();
    Json temps = Json::array();
    Json rest = Json::array();
    for (int i = -48; i < 96; ++i) {
        times.push_back(to_unix(hour + std::chrono::hours{i}));
        temps.push_back(18 + i % 5);
        rest.push_back(50);
    }
    return Json{{"hourly",
                 {{"time", times},
                  {"temperature_2m", temps},
                  {"relative_humidity_2m", rest},
                  {"shortwave_radiation", rest}}}}
        .dump();
}

} // namespace

TEST_CASE("a forecast and a station are heard, and kept over a restart") {
    std::atomic<bool> broken{false};
    httplib::Server service;
    service.Get("/v1/forecast", [&](const httplib::Request&, httplib::Response& reply) {
        if (broken)
            reply.status = 500;
        else
            reply.set_content(forecast_json(), "application/json");
    });
    const int port = service.bind_to_any_port("127.0.0.1");
    std::thread serving([&] { service.listen_after_bind(); });

    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    House house(spec);
    append(house.garden(), "\n[[weather.source]]\nkind = \"push\"\nid = \"yard\"\n"
                           "[[weather.source]]\nkind = \"open_meteo\"\nid = \"far\"\n"
                           "url = \"http://127.0.0.1:" +
                               std::to_string(port) + "\"\n");
    REQUIRE_MESSAGE(house.start(), house.log());
    const auto weather = [&] {
        return Json::parse(house.get("/api/v1/weather").body, nullptr, false);
    };
    const auto source = [&](std::size_t i) -> Json {
        const Json all = weather();
        if (!all.is_object() || !all["desk"].is_object()) return Json::object();
        return all["desk"]["sources"][i];
    };
    CHECK(eventually([&] { return source(1).value("forecast_hours_ahead", 0) > 60; }, 90));
    CHECK(source(1)["state"] == "ok");

    // The station tells the last two hours with its own key.
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now());
    const std::string two = R"({"hours": [)"
                            R"({"time": ")" +
                            to_iso8601(hour - std::chrono::hours{2}) +
                            R"(", "air_temp_c": 21.5, "rain_mm": 0}, {"time": ")" +
                            to_iso8601(hour - std::chrono::hours{1}) +
                            R"(", "air_temp_c": 22.5, "rain_mm": 0.4}]})";
    std::string key = content_of(house.state() + "/station-key");
    key.resize(key.find_last_not_of('\n') + 1);
    CHECK(house.post_with("wrong", "/api/v1/weather/stations/yard", two).status == 401);
    CHECK(house.post_with(key, "/api/v1/weather/stations/elsewhere", two).status == 422);
    CHECK(house.post_with(key, "/api/v1/weather/stations/yard", two).status == 200);
    CHECK(house.get("/api/v1/weather/stations/yard?PASSWORD=" + key + "&tempf=70").status == 200);
    CHECK(eventually([&] { return source(0).value("measured_hours", 0) == 2; }, 60));
    CHECK(weather()["desk"]["ahead"].size() >= 24);
    const auto said =
        run({kCompanion, "weather", "--url", "http://127.0.0.1:" + std::to_string(house.port())});
    CHECK(said.code == 0);
    CHECK(has(said.out, "yard"));
    CHECK(has(said.out, "far"));

    // After a restart the forecast that was kept is there before the service answers.
    broken = true;
    CHECK(house.end() == 0);
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(eventually([&] { return source(1).value("forecast_hours_ahead", 0) > 60; }));
    CHECK(eventually([&] { return source(1)["state"] == "failing"; }, 60));
    CHECK(has(source(1).value("detail", ""), "500"));
    CHECK(house.get("/healthz").status == 200);
    CHECK(house.end() == 0);
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
    service.stop();
    serving.join();
}

} // namespace firstmow::process
