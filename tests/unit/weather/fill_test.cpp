#include "weather/fill.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <cmath>
#include <numbers>
#include <span>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

using std::chrono::hours;

constexpr Place kPlace{45, 0, 100}; // on the meridian: UTC is about solar time
const WallTime kMidnight = parse_iso8601("2026-08-20T00:00:00Z").value();

// Temperatures only: 14 to 26 deg C, warmest at 15 h.
std::vector<Reading> thermometer(int count) {
    std::vector<Reading> readings;
    for (int h = 0; h < count; ++h) {
        Reading reading;
        reading.start = kMidnight + hours{h};
        reading.air_temp_c = 20 + 6 * std::cos(2 * std::numbers::pi * (h - 15) / 24);
        readings.push_back(reading);
    }
    return readings;
}

bool all_finite(const Hour& hour) {
    return std::isfinite(hour.air_temp_c) && std::isfinite(hour.rel_humidity_pct) &&
           std::isfinite(hour.wind_2m_m_s) && std::isfinite(hour.solar_w_m2) &&
           std::isfinite(hour.rain_mm);
}

Hour complete_first(const std::vector<Reading>& readings, std::size_t count) {
    return complete(kPlace, std::span<const Reading>(readings).first(count));
}

} // namespace

TEST_CASE("what was measured is kept as it is") {
    Reading reading;
    reading.start = kMidnight;
    reading.air_temp_c = 11;
    reading.rel_humidity_pct = 77;
    reading.wind_2m_m_s = 0;
    reading.solar_w_m2 = 3;
    reading.rain_mm = 1.2;
    const Hour hour = complete(kPlace, std::span<const Reading>(&reading, 1));
    CHECK_EQ(hour, Hour{kMidnight, 11, 77, 0, 3, 1.2, 1, Origin::measured, Origin::measured,
                        Origin::measured, Origin::measured, Origin::measured});
}

TEST_CASE("solar radiation from temperatures: a day's worth, none at night, never above clear") {
    const auto readings = thermometer(72);
    double sum_mj = 0;
    double highest = 0;
    for (std::size_t n = 49; n <= 72; ++n) {
        const Hour hour = complete_first(readings, n);
        CHECK_EQ(hour.solar_origin, Origin::estimated);
        const HourSun sun = hour_sun(kPlace, hour.start, 0.0820);
        if (sun.extraterrestrial_mj == 0) CHECK_EQ(hour.solar_w_m2, 0);
        CHECK_LE(hour.solar_w_m2 * 0.0036,
                 clear_sky_mj(sun.extraterrestrial_mj, kPlace.elevation_m) + 1e-9);
        sum_mj += hour.solar_w_m2 * 0.0036;
        highest = std::max(highest, hour.solar_w_m2);
    }
    // FAO-56 Eq. 50 for the day as a whole, its coefficient half-way between the book's two (0.16
    // inland, 0.19 at coasts): the hours must add up to it.
    const double day_mj = solar_from_temperature_mj(
        extraterrestrial_daily_mj(kPlace.latitude_deg * std::numbers::pi / 180, 234, 0.0820), 14,
        26, 0.175);
    CHECK_EQ(sum_mj, doctest::Approx(day_mj).epsilon(0.01));
    CHECK_GT(highest, 500);
}

TEST_CASE("a dull day, told by its narrow range, has less sun than a bright one") {
    auto dull = thermometer(48);
    for (Reading& reading : dull)
        reading.air_temp_c = 18 + (*reading.air_temp_c - 20) / 3;
    CHECK_LT(complete_first(dull, 37).solar_w_m2,
             0.7 * complete_first(thermometer(48), 37).solar_w_m2);
}

TEST_CASE("only the past counts: later readings change nothing") {
    auto readings = thermometer(72);
    const Hour before = complete_first(readings, 40);
    for (std::size_t i = 40; i < readings.size(); ++i)
        readings[i].air_temp_c = 40;
    CHECK_EQ(complete_first(readings, 40), before);
}

TEST_CASE("humidity from the night: damp at dawn, dry at the day's height") {
    const auto readings = thermometer(48);
    const Hour dawn = complete_first(readings, 28);      // 03 h, the coldest
    const Hour afternoon = complete_first(readings, 40); // 15 h
    CHECK_EQ(dawn.humidity_origin, Origin::estimated);
    CHECK_EQ(dawn.rel_humidity_pct, doctest::Approx(100));
    CHECK_EQ(afternoon.rel_humidity_pct,
             doctest::Approx(100 * saturation_vapour_kpa(14) / saturation_vapour_kpa(26)));
}

TEST_CASE("in dry country the dew point lies below the night's minimum") {
    auto readings = thermometer(48);
    for (Reading& reading : readings)
        reading.air_temp_c = 20 + (*reading.air_temp_c - 20) * 2; // 8 to 32 deg C
    // FAO-56 p. 58: by 2 to 3 degrees.
    CHECK_EQ(complete_first(readings, 40).rel_humidity_pct,
             doctest::Approx(100 * saturation_vapour_kpa(8 - 3) / saturation_vapour_kpa(32)));
}

TEST_CASE("wind that nobody measured is 2 m/s, rain that nobody measured is none") {
    const Hour hour = complete_first(thermometer(24), 24);
    CHECK_EQ(hour.wind_2m_m_s, 2); // FAO-56 p. 63
    CHECK_EQ(hour.wind_origin, Origin::estimated);
    CHECK_EQ(hour.rain_mm, 0);
    CHECK_EQ(hour.rain_origin, Origin::assumed);
    CHECK_EQ(hour.temp_origin, Origin::measured);
}

TEST_CASE(
    "humidity and wind of a sensor that has just failed are those of the same hour yesterday") {
    auto readings = thermometer(48);
    readings[20].rel_humidity_pct = 50;
    readings[20].wind_2m_m_s = 3.5;
    const Hour hour = complete_first(readings, 45);
    CHECK_EQ(hour.wind_2m_m_s, 3.5);
    CHECK_EQ(hour.wind_origin, Origin::estimated);
    // As warm as then, and as much water in the air (FAO-56 Eq. 17).
    CHECK_EQ(hour.rel_humidity_pct, doctest::Approx(50));
    CHECK_EQ(hour.humidity_origin, Origin::estimated);
    readings[44].air_temp_c = *readings[20].air_temp_c + 5;
    CHECK_EQ(complete_first(readings, 45).rel_humidity_pct,
             doctest::Approx(50 * saturation_vapour_kpa(*readings[20].air_temp_c) /
                             saturation_vapour_kpa(*readings[20].air_temp_c + 5)));
    // A day later it is the formulas' turn.
    CHECK_EQ(complete_first(thermometer(48), 46).wind_2m_m_s, 2);
}

TEST_CASE("a temperature that is missing is that of the day before, or two days before") {
    auto readings = thermometer(64);
    readings[63].air_temp_c.reset();
    readings[39].air_temp_c = 23.5;
    CHECK_EQ(complete_first(readings, 64).air_temp_c, 23.5);
    CHECK_EQ(complete_first(readings, 64).temp_origin, Origin::assumed);
    readings[39].air_temp_c.reset();
    readings[15].air_temp_c = 22.5;
    CHECK_EQ(complete_first(readings, 64).air_temp_c, 22.5);
    // Gaps between the lines do no harm.
    readings.erase(readings.begin() + 20, readings.begin() + 60);
    CHECK_EQ(complete(kPlace, readings).air_temp_c, 22.5);
}

TEST_CASE("with nothing but the time every hour of the year is complete, anywhere") {
    for (const double latitude : {-90.0, -45.0, 0.0, 30.0, 60.0, 90.0}) {
        const Place place{latitude, 120, 500};
        double highest = 0;
        for (int h = 0; h < 24 * 366; h += 7) {
            Reading bare;
            bare.start = kMidnight + hours{h};
            const Hour hour = complete(place, std::span<const Reading>(&bare, 1));
            REQUIRE(all_finite(hour));
            REQUIRE_EQ(hour.temp_origin, Origin::assumed);
            REQUIRE_EQ(hour.humidity_origin, Origin::assumed);
            REQUIRE_EQ(hour.solar_origin, Origin::assumed);
            REQUIRE_EQ(hour.rain_mm, 0);
            REQUIRE_LE(std::abs(hour.air_temp_c), 60);
            REQUIRE_GE(hour.rel_humidity_pct, 1);
            REQUIRE_LE(hour.rel_humidity_pct, 100);
            highest = std::max(highest, hour.solar_w_m2);
        }
        CHECK_GT(highest, 300);
        CHECK_LT(highest, 1200);
    }
}

TEST_CASE("the assumed day of a place is a warm one of its season, dark at night") {
    const Hour noon = assume(kPlace, parse_iso8601("2026-07-20T14:00:00Z").value(), {});
    CHECK_GT(noon.air_temp_c, 22);
    CHECK_LT(noon.air_temp_c, 38);
    CHECK_GT(noon.solar_w_m2, 600);
    CHECK_LT(noon.rel_humidity_pct, 60);
    CHECK_EQ(noon.rain_mm, 0);
    const Hour night = assume(kPlace, parse_iso8601("2026-07-20T01:00:00Z").value(), {});
    CHECK_EQ(night.solar_w_m2, 0);
    CHECK_LT(night.air_temp_c, noon.air_temp_c);
    const Hour winter = assume(kPlace, parse_iso8601("2026-01-20T14:00:00Z").value(), {});
    CHECK_LT(winter.air_temp_c, noon.air_temp_c - 15);
    // South of the equator the seasons are turned round.
    const Place south{-45, 0, 100};
    CHECK_GT(assume(south, parse_iso8601("2026-01-20T14:00:00Z").value(), {}).air_temp_c, 22);
}

TEST_CASE("what comes is assumed from the newest day, dry and clear") {
    std::vector<Hour> past;
    for (int h = 0; h < 48; ++h) {
        Hour hour;
        hour.start = kMidnight + hours{h};
        hour.air_temp_c = h;
        hour.rel_humidity_pct = 90;
        hour.wind_2m_m_s = 1.5;
        hour.solar_w_m2 = 20;
        hour.rain_mm = 3;
        past.push_back(hour);
    }
    const Hour next = assume(kPlace, kMidnight + hours{48 + 12}, past);
    CHECK_EQ(next.start, kMidnight + hours{60});
    // 12 h of the second day, whose last hour was 24 degrees warmer than the first day's, 13 h ago.
    CHECK_EQ(next.air_temp_c, doctest::Approx(36 + 24 * std::exp(-13 / 6.0)));
    CHECK_EQ(next.wind_2m_m_s, 1.5);
    CHECK_EQ(next.rain_mm, 0);
    CHECK_GT(next.solar_w_m2, 600);
    for (const Origin origin : {next.temp_origin, next.humidity_origin, next.wind_origin,
                                next.solar_origin, next.rain_origin})
        CHECK_EQ(origin, Origin::assumed);
    CHECK_EQ(assume(kPlace, kMidnight + hours{48 + 24 * 9 + 12}, past).air_temp_c, 36);
    // Within what is past, only what lies before counts.
    CHECK_EQ(assume(kPlace, kMidnight + hours{36}, past),
             assume(kPlace, kMidnight + hours{36}, std::span(past).first(36)));
    // A day of two months ago says nothing about now.
    const WallTime later = kMidnight + hours{24 * 60 + 12};
    CHECK_EQ(assume(kPlace, later, past), assume(kPlace, later, {}));
}

namespace {

Hour like(WallTime start, double temp_c, double vapour_kpa, double wind_2m_m_s) {
    Hour hour;
    hour.start = start;
    hour.air_temp_c = temp_c;
    hour.rel_humidity_pct = 100 * vapour_kpa / saturation_vapour_kpa(temp_c);
    hour.wind_2m_m_s = wind_2m_m_s;
    return hour;
}
double vapour_of(const Hour& hour) {
    return hour.rel_humidity_pct / 100 * saturation_vapour_kpa(hour.air_temp_c);
}

} // namespace

TEST_CASE("what the last hour was off its day before, the next ones are too, less and less") {
    std::vector<Hour> past;
    for (int h = 0; h < 35; ++h) // 20 C, 1.0 kPa and 2 m/s all the time
        past.push_back(like(kMidnight + hours{h}, 20, 1.0, 2));
    past.push_back(like(kMidnight + hours{35}, 26, 1.6, 5));

    const auto after = [&](int h) { return assume(kPlace, kMidnight + hours{35 + h}, past); };
    // 6 h: a third of it is left.
    const double left = std::exp(-1.0);
    CHECK_EQ(after(6).air_temp_c, doctest::Approx(20 + 6 * left));
    CHECK_EQ(vapour_of(after(6)), doctest::Approx(1.0 + 0.6 * left));
    CHECK_EQ(after(6).wind_2m_m_s, doctest::Approx(2 + 3 * left));
    for (int h = 1; h < 20; ++h) {
        CAPTURE(h);
        CHECK_LT(after(h + 1).air_temp_c, after(h).air_temp_c);
        CHECK_GT(after(h + 1).air_temp_c, 20);
    }
    CHECK_EQ(after(31).air_temp_c, 20); // nothing is left
    // An hour that was itself assumed says nothing: the one before it was as its day before.
    past.back().temp_origin = past.back().humidity_origin = past.back().wind_origin =
        Origin::assumed;
    CHECK_EQ(after(6).air_temp_c, 20);
    CHECK_EQ(after(6).wind_2m_m_s, doctest::Approx(2));
}

TEST_CASE("on a first day the place shows by how much it is not as its season") {
    // A desert: ten degrees warmer than the season has it, with little water in the air.
    std::vector<Hour> past;
    for (int h = 0; h < 12; ++h) {
        const WallTime start = kMidnight + hours{h};
        past.push_back(like(start, assume(kPlace, start, {}).air_temp_c + 10, 0.7, 6));
    }
    const WallTime afternoon = kMidnight + hours{15};
    const Hour there = assume(kPlace, afternoon, past);
    const Hour season = assume(kPlace, afternoon, {});
    CHECK_GT(there.air_temp_c, season.air_temp_c + 9);
    CHECK_LT(there.air_temp_c, season.air_temp_c + 10);
    CHECK_EQ(vapour_of(there), doctest::Approx(0.7).epsilon(0.1));
    CHECK_GT(there.wind_2m_m_s, 4.5);
    CHECK_EQ(there.temp_origin, Origin::assumed);
    // What the place is off its season is no departure from the day before: the next morning has
    // a day before, this noon has none.
    CHECK_EQ(assume(kPlace, kMidnight + hours{24 + 6}, past).air_temp_c, past[6].air_temp_c);
}

TEST_CASE("nothing impossible is assumed of the hours after an odd one") {
    for (const double odd_c : {-60.0, 60.0}) {
        std::vector<Hour> past;
        for (int h = 0; h < 35; ++h)
            past.push_back(like(kMidnight + hours{h}, odd_c > 0 ? 55 : -55, 0.02, 0.5));
        past.push_back(like(kMidnight + hours{35}, odd_c, 0.001, 0));
        for (int h = 1; h < 40; ++h) {
            const Hour hour = assume(kPlace, kMidnight + hours{35 + h}, past);
            CAPTURE(h);
            CHECK(all_finite(hour));
            CHECK_LE(std::abs(hour.air_temp_c), 60);
            CHECK_GE(hour.rel_humidity_pct, 1);
            CHECK_LE(hour.rel_humidity_pct, 100);
            CHECK_GE(hour.wind_2m_m_s, 0);
        }
    }
}
