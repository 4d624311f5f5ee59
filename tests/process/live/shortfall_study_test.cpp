// The study of what cannot be done in the coming week, on its own thread of a running daemon: what
// it finds is told, and the daemon answers all the while.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <chrono>

namespace firstmow::process {

namespace {

using nlohmann::json;

// Hot, dry hours, and one hour of the day in which the tap may run: no seedbed stays damp so.
GardenSpec without_hope() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start =
        to_string(Date{std::chrono::floor<std::chrono::days>(now()) - std::chrono::days{3}});
    spec.weather = "weather.csv";
    return spec;
}

std::string hot_week() {
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now());
    std::string text = kWeatherHeader;
    for (int i = -72; i < 7 * 24; ++i)
        text += hour_line(hour + std::chrono::hours(i), 36);
    return text;
}

json status_of(const House& house) {
    const Reply reply = house.get("/api/v1/status");
    if (reply.status != 200) return nullptr;
    return json::parse(reply.body, nullptr, false);
}

} // namespace

TEST_CASE("what will be too dry in the coming week is found while the daemon goes on answering") {
    House house(without_hope());
    write(house.place.file("weather.csv"), hot_week());
    REQUIRE_MESSAGE(house.start(), house.log());
    int answered = 0;
    int silent = 0;
    json shortfalls;
    // Whatever it is busy with, it answers, and steps: healthz says so by the age of its last step.
    const bool found = eventually(
        [&] {
            for (const char* path : {"/healthz", "/api/v1/status"})
                (house.get(path).status == 200 ? answered : silent) += 1;
            const json status = status_of(house);
            if (!status.is_object() || !status.contains("shortfalls")) return false;
            shortfalls = status["shortfalls"];
            return !shortfalls.empty();
        },
        60);
    REQUIRE_MESSAGE(found, house.log());
    CHECK_EQ(silent, 0);
    CHECK_GE(answered, 2);

    const json& front = shortfalls[0];
    CAPTURE(front.dump());
    REQUIRE_EQ(shortfalls.size(), 1); // the bed is grown in: no seed can dry in it
    CHECK_EQ(front["zone"], "front");
    CHECK_GT(front["dry_hours"].get<double>(), 24); // of a week that is dry but for its mornings
    CHECK(front["text"].get<std::string>().starts_with("Front lawn"));
    // A week ahead, and no spell beyond it; one hour of water a day is what is wrong.
    const WallTime until = parse_iso8601(front["until"].get<std::string>()).value();
    CHECK(until > now() + std::chrono::days{6});
    CHECK(until < now() + std::chrono::days{8});
    REQUIRE_FALSE(front["spells"].empty());
    for (const json& spell : front["spells"])
        CHECK(parse_iso8601(spell["until"].get<std::string>()).value() <= until);
    REQUIRE_FALSE(front["helps"].empty());
    CHECK_EQ(front["helps"][0]["what"], "longer_hours");
    CHECK_LT(front["helps"][0]["dry_hours"].get<double>(), front["dry_hours"].get<double>());

    // An order is carried out as ever.
    CHECK_EQ(house.post("/api/v1/zones/front/water", "{\"minutes\": 2}").status, 200);
    CHECK(eventually([&] { return house.zone("front", "valve") == "open"; }));
    CHECK_EQ(house.post("/api/v1/stop", "{}").status, 200);
    CHECK_EQ(house.end(), 0);
}

} // namespace firstmow::process
