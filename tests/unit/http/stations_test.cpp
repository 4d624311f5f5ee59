// Weather over HTTP: stations that tell it with their own keys, and what became of it.
#include "asked.hpp" // last, as it brings doctest

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

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
