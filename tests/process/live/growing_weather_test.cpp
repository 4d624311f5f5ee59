// A weather file that grows while the daemon runs. The daemon looks every half minute, so this
// waits; it stands alone that other tests may run meanwhile.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <csignal>

namespace firstmow::process {

namespace {

// The hours that the journal says were used as measured, once the daemon has ended.
std::string measured(const std::string& database) {
    sqlite3* db = nullptr;
    std::string found;
    if (sqlite3_open_v2(database.c_str(), &db, SQLITE_OPEN_READONLY, nullptr) == SQLITE_OK)
        (void)sqlite3_exec(
            db,
            "SELECT hour_s, air_temp_c FROM weather_used WHERE origins = 'mmmmm' ORDER BY hour_s",
            [](void* to, int, char** row, char**) {
                *static_cast<std::string*>(to) +=
                    to_iso8601(wall_from_unix(std::stoll(row[0]))) + " " + row[1] + "\n";
                return 0;
            },
            &found, nullptr);
    sqlite3_close(db);
    return found;
}

} // namespace

TEST_CASE("hours that are added to the weather file are taken in, bad lines are told of") {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    spec.weather = "weather.csv";
    House house(spec);
    const std::string csv = house.place.file("weather.csv");
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now());
    const auto line = [&](int i, double temp) {
        return hour_line(hour + std::chrono::hours(i), temp);
    };
    const auto used = [&](int i, double temp) {
        return to_iso8601(hour + std::chrono::hours(i)) + " " + std::to_string(temp).substr(0, 4);
    };

    // Seven hours that have passed, and a torn eighth.
    std::string text = kWeatherHeader;
    for (int i = -12; i < -5; ++i)
        text += line(i, 21.5);
    const std::string torn = line(-5, 22.5);
    write(csv, text + torn.substr(0, 30));
    REQUIRE_MESSAGE(house.start(), house.log());
    const auto moisture_until = [&](int i) {
        return has(house.get("/api/v1/moisture?zone=front", "text/csv").body,
                   to_iso8601(hour + std::chrono::hours(i)));
    };
    CHECK(eventually([&] { return moisture_until(-5); }));
    CHECK_FALSE(moisture_until(-4));
    CHECK_FALSE(has(house.log(), "line not used"));

    // Its rest, a bad line, and an hour more.
    append(csv, torn.substr(30) + "2026-99-99T00:00:00Z,1,2,3,4,5\n" + line(-4, 23.5));
    CHECK(eventually([&] { return moisture_until(-3); }, 50));
    CHECK(eventually([&] { return has(house.log(), csv + ":10:1:"); }));
    CHECK(count(house.log(), "line not used") == 1);

    // Another file under its name; the daemon is told to look.
    write(csv + ".new", kWeatherHeader + line(-4, 30.5) + line(-3, 24.5));
    REQUIRE(std::rename((csv + ".new").c_str(), csv.c_str()) == 0);
    house.daemon().signal(SIGHUP);
    CHECK(eventually([&] { return moisture_until(-2); }));
    CHECK(house.end() == 0);

    const std::string hours = measured(house.database());
    CHECK(has(hours, used(-6, 21.5)));
    CHECK(has(hours, used(-5, 22.5)));
    CHECK(has(hours, used(-4, 23.5))); // an hour that was taken in stays as it was
    CHECK(has(hours, used(-3, 24.5)));
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
}

} // namespace firstmow::process
