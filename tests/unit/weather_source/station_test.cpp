#include "weather/station.hpp"

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

const WallTime kNow = parse_iso8601("2026-08-22T13:04:30Z").value();

weather::Sample form(const std::string& text, double wind_height_m = 2) {
    const auto word = read_station_form(text, kNow, wind_height_m);
    REQUIRE_MESSAGE(word.ok(), (word ? "" : word.error().message));
    REQUIRE(word->samples.size() == 1);
    return word->samples[0];
}

weather::Sample json(const std::string& text, double wind_height_m = 2) {
    const auto word = read_station_json(text, kNow, wind_height_m);
    REQUIRE_MESSAGE(word.ok(), (word ? "" : word.error().message));
    REQUIRE(word->samples.size() == 1);
    return word->samples[0];
}

} // namespace

TEST_CASE("station: a query string in imperial units") {
    const auto s = form("ID=yard&PASSWORD=k&dateutc=2026-08-22%2013%3A04%3A00&tempf=77.0&"
                        "humidity=52&dewptf=57.9&windspeedmph=3.1&winddir=210&solarradiation=612.4&"
                        "rainin=0.10&dailyrainin=0.25&softwaretype=x&action=updateraw");
    CHECK(s.time == kNow - Seconds{30});
    CHECK(*s.air_temp_c == doctest::Approx(25.0));
    CHECK(*s.rel_humidity_pct == doctest::Approx(52));
    CHECK(*s.dew_point_c == doctest::Approx(14.3889));
    CHECK(*s.wind_2m_m_s == doctest::Approx(3.1 * 0.44704));
    CHECK(*s.solar_w_m2 == doctest::Approx(612.4));
    CHECK(*s.rain_counter_mm == doctest::Approx(6.35));
    CHECK(*s.rain_last_hour_mm == doctest::Approx(2.54));
    CHECK(form("tempf=50&dateutc=now").time == kNow);
    CHECK(form("dateutc=2026-08-22+13:00:00&tempf=50").time == kNow - Seconds{270});
    // The longest counter is the one that falls back least.
    CHECK(*form("totalrainin=10&dailyrainin=1").rain_counter_mm == doctest::Approx(254));
    // A wind sensor on a mast: FAO-56 Eq. 47, 0.748 from 10 m.
    CHECK(*form("windspeedmph=10", 10).wind_2m_m_s ==
          doctest::Approx(4.4704 * 0.748).epsilon(1e-3));
}

TEST_CASE("station: what it has no sensor for is absent, what is no weather is refused") {
    CHECK_FALSE(form("tempf=-9999&humidity=40").air_temp_c.has_value());
    CHECK_FALSE(form("tempf=&humidity=40").air_temp_c.has_value());
    CHECK_FALSE(form("tempf=nan&humidity=40").air_temp_c.has_value());
    for (const char* bad :
         {"", "&&&=&", "ID=yard&PASSWORD=k", "tempf=warm", "%%%=%%", "tempf=50&dateutc=yesterday"})
        CHECK_FALSE(read_station_form(bad, kNow, 2).ok());
    const auto ahead = read_station_form("tempf=50&dateutc=2026-08-22 19:04:00", kNow, 2);
    REQUIRE_FALSE(ahead.ok());
    CHECK(ahead.error().message.find("clock") != std::string::npos);
}

TEST_CASE("station: JSON, one reading, many, and hours") {
    const auto s = json(R"({"time": "2026-08-22T13:04:00Z", "air_temp_c": 24.1, "wind_m_s": 1.4,
                            "rain_counter_mm": 12.6, "soil_temp_c": 16.5, "battery": "low"})");
    CHECK(s.time == kNow - Seconds{30});
    CHECK(*s.air_temp_c == 24.1);
    CHECK(*s.wind_2m_m_s == 1.4);
    CHECK(*s.rain_counter_mm == 12.6);
    CHECK(*s.soil_temp_c == 16.5);
    CHECK_FALSE(s.rel_humidity_pct.has_value());
    CHECK(json(R"({"air_temp_c": 24.1, "rel_humidity_pct": null})").time == kNow);
    const auto word = read_station_json(
        R"({"readings": [{"time": "2026-08-22T12:00:00Z", "air_temp_c": 20},
                         {"time": "2026-08-22T12:05:00Z", "air_temp_c": 21}],
            "hours": [{"time": "2026-08-22T09:00:00Z", "air_temp_c": 18, "rain_mm": 0.4}]})",
        kNow, 2);
    REQUIRE(word.ok());
    CHECK(word->samples.size() == 2);
    REQUIRE(word->hours.size() == 1);
    CHECK(*word->hours[0].rain_mm == 0.4);
    for (const char* bad :
         {"", "7", "[]", "{}", R"({"air_temp_c": "warm"})", R"({"air_temp_c": 1e999})",
          R"({"time": "noon", "air_temp_c": 20})", R"({"time": 12, "air_temp_c": 20})",
          R"({"time": "2026-08-23T13:04:00Z", "air_temp_c": 20})", R"({"readings": 5})",
          R"({"readings": [7]})", R"({"hours": [{"air_temp_c": 20}]})",
          R"({"hours": [{"time": "2026-08-22T09:30:00Z", "air_temp_c": 20}]})"})
        CHECK_FALSE(read_station_json(bad, kNow, 2).ok());
}

TEST_CASE("station: an hour of pushes becomes a measured hour") {
    PushFeed feed(3, 2);
    CHECK(feed.status(kNow).state == FeedStatus::State::starting);
    const WallTime noon = parse_iso8601("2026-08-22T12:00:00Z").value();
    for (int minute = 0; minute <= 62; minute += 2) {
        const WallTime now = noon + std::chrono::minutes{minute};
        const std::string text = "dateutc=now&tempf=68&humidity=50&soiltempf=59&dailyrainin=" +
                                 std::string(minute < 30 ? "0.00" : "0.04");
        REQUIRE(feed.take(text, false, now).ok());
    }
    const auto parcels = feed.collect(noon + std::chrono::minutes{63});
    REQUIRE(parcels.size() == 1);
    CHECK(parcels[0].source == 3);
    CHECK(parcels[0].kind == weather::ParcelKind::measured);
    REQUIRE(parcels[0].readings.size() == 1);
    CHECK(*parcels[0].readings[0].air_temp_c == doctest::Approx(20));
    CHECK(*parcels[0].readings[0].rain_mm == doctest::Approx(1.016));
    CHECK(*parcels[0].readings[0].soil_temp_c == doctest::Approx(15));
    CHECK(feed.status(noon + std::chrono::minutes{63}).state == FeedStatus::State::ok);
    CHECK(feed.status(noon + std::chrono::hours{3}).state == FeedStatus::State::failing);
    CHECK_FALSE(feed.take("nothing", false, kNow).ok());
    CHECK_FALSE(feed.status(noon + std::chrono::minutes{64}).detail.empty());
}

} // namespace firstmow::weather_source
