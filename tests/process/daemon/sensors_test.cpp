// The daemon with sensors and interlocks: files and pushed readings in, water off; what a power cut
// must not make it forget.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <csignal>

namespace firstmow::process {

namespace {

using Json = nlohmann::json;

GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

// The trial garden with more tables at its end.
void extend(const House& house, const std::string& tables) {
    write(house.garden(), content_of(house.garden()) + "\n" + tables);
}

Json status(const House& house) {
    return Json::parse(house.get("/api/v1/status").body);
}

bool is_open(const House& house, const char* channel) {
    bool open = false;
    for (const std::string& line : lines(house.valves()))
        if (has(line, std::string(" ") + channel + " ")) open = has(line, "open");
    return open;
}

const std::string kWater = "/api/v1/zones/bed/water";

} // namespace

TEST_CASE("an emergency stop holds over a power cut until it is released") {
    House house(quiet());
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(house.post(kWater, "{\"minutes\": 5}").status == 200);
    REQUIRE(eventually([&] { return is_open(house, "2"); }));
    CHECK(house.post_with("", "/api/v1/emergency-stop", "").status == 401);
    CHECK(house.post("/api/v1/emergency-stop", "").status == 200);
    CHECK(eventually([&] { return !is_open(house, "2"); }));
    const Reply refused = house.post(kWater, "{\"minutes\": 5}");
    CHECK(refused.status == 409);
    CHECK(has(refused.body, "until a person releases it"));
    CHECK(house.get("/api/v1/cycles").status == 200); // answered when all before is on the disk
    house.crash();
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(eventually([&] { return status(house).at("stopped").is_object(); }));
    CHECK(house.post(kWater, "{\"minutes\": 5}").status == 409);
    CHECK(house.remove("/api/v1/emergency-stop").status == 200);
    CHECK(status(house).at("stopped").is_null());
    CHECK(house.post(kWater, "{\"minutes\": 5}").status == 200);
    CHECK(eventually([&] { return is_open(house, "2"); }));
    CHECK(house.end() == 0);
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
}

TEST_CASE("a day's most water and the pump's rest are remembered over a power cut") {
    House house(quiet());
    extend(house, "[interlocks]\nmost_per_day = \"1 mm\"\n[pump]\nrelay = { driver = "
                  "\"simulated\", channel = 9, file = \"valves.log\" }\nrest = \"1 h\"\n");
    REQUIRE_MESSAGE(house.start(), house.log());
    const Reply much = house.post(kWater, "{\"minutes\": 50}");
    CHECK(much.status == 409);
    CHECK(has(much.body, "its most water of a day"));
    CHECK(house.post(kWater, "{\"minutes\": 2}").status == 200);
    REQUIRE(eventually([&] { return is_open(house, "2") && is_open(house, "9"); }));
    CHECK(house.get("/api/v1/cycles").status == 200);
    house.crash();
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK_FALSE(is_open(house, "9"));
    // Taken, but the pump rests: it does not open.
    CHECK(house.post(kWater, "{\"minutes\": 1}").status == 200);
    CHECK(house.get("/api/v1/cycles").status == 200);
    CHECK_FALSE(is_open(house, "2"));
    CHECK_FALSE(is_open(house, "9"));
    CHECK(house.end() == 0);
}

TEST_CASE("a stop button in a file, a thermometer that is pushed") {
    House house(quiet());
    extend(house, "[[sensor]]\nid = \"stop\"\nkind = \"stop_button\"\nsource = \"file\"\nfile = "
                  "\"stop.txt\"\n[[sensor]]\nid = \"air\"\nkind = \"thermometer\"\nsource = "
                  "\"push\"\n");
    write(house.place.file("stop.txt"), "0\n");
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(house.post("/api/v1/sensors/air", "{\"value\": -2.5}").status == 200);
    CHECK(house.post("/api/v1/sensors/air", "{\"value\": \"cold\"}").status == 422);
    CHECK(house.post("/api/v1/sensors/stop", "{\"value\": 1}").status == 404);
    const Reply cold = house.post(kWater, "{\"minutes\": 5}");
    CHECK(cold.status == 409);
    CHECK(has(cold.body, "too cold"));
    CHECK(house.post("/api/v1/sensors/air", "{\"value\": 2.0}").status == 200);
    CHECK(house.post(kWater, "{\"minutes\": 5}").status == 200);
    REQUIRE(eventually([&] { return is_open(house, "2"); }));
    write(house.place.file("stop.txt"), "1\n");
    CHECK(eventually([&] { return !is_open(house, "2"); }));
    CHECK(house.remove("/api/v1/emergency-stop").status == 409); // it is still pressed
    write(house.place.file("stop.txt"), "0\n");
    CHECK(eventually([&] { return house.remove("/api/v1/emergency-stop").status == 200; }));
    CHECK(house.end() == 0);
}

} // namespace firstmow::process
