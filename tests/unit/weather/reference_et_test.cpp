#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <cmath>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

constexpr Place kPlace{40, -105, 1500};
const WallTime kNoon = parse_iso8601("2026-08-22T19:00:00Z").value();
const WallTime kNight = parse_iso8601("2026-08-23T08:00:00Z").value();

Hour hour_of(WallTime start, double temp_c, double humidity, double wind, double solar) {
    Hour hour;
    hour.start = start;
    hour.air_temp_c = temp_c;
    hour.rel_humidity_pct = humidity;
    hour.wind_2m_m_s = wind;
    hour.solar_w_m2 = solar;
    return hour;
}

double et_mm(const Hour& hour, Reference reference = Reference::asce_short) {
    CloudMemory clouds;
    return hourly_et(reference, kPlace, hour, clouds).et_mm;
}

} // namespace

TEST_CASE("more heat, more sun and drier air take more water") {
    for (const Reference reference :
         {Reference::asce_short, Reference::asce_tall, Reference::fao56}) {
        double before = -1;
        for (double t = 0; t <= 45; t += 3) {
            const double et = et_mm(hour_of(kNoon, t, 40, 2, 700), reference);
            CHECK_GT(et, before);
            before = et;
        }
        CHECK_GT(et_mm(hour_of(kNoon, 25, 40, 2, 800), reference),
                 et_mm(hour_of(kNoon, 25, 40, 2, 400), reference));
        CHECK_GT(et_mm(hour_of(kNoon, 25, 20, 2, 700), reference),
                 et_mm(hour_of(kNoon, 25, 80, 2, 700), reference));
    }
}

TEST_CASE("wind takes more water from dry air, and hardly any more from damp air") {
    const double dry =
        et_mm(hour_of(kNoon, 30, 20, 5, 700)) - et_mm(hour_of(kNoon, 30, 20, 1, 700));
    const double damp =
        et_mm(hour_of(kNoon, 30, 100, 5, 700)) - et_mm(hour_of(kNoon, 30, 100, 1, 700));
    CHECK_GT(dry, 0.1);
    CHECK_LE(damp, 0);
}

TEST_CASE("a dry windy night still takes water; a damp still one gives dew") {
    CHECK_GT(et_mm(hour_of(kNight, 20, 30, 4, 0)), 0.05);
    CHECK_LT(et_mm(hour_of(kNight, 12, 100, 0.5, 0)), 0);
    // The tall reference is aired better by day (ASCE table 1).
    CHECK_GT(et_mm(hour_of(kNoon, 30, 30, 3, 700), Reference::asce_tall),
             et_mm(hour_of(kNoon, 30, 30, 3, 700), Reference::asce_short));
}

TEST_CASE("the cloud factor is learnt in daylight and kept through low sun and night") {
    CloudMemory clouds;
    const double at_first = clouds.factor();
    const Hour night = hour_of(kNight, 15, 60, 1, 0);
    CHECK_EQ(hourly_et(Reference::asce_short, kPlace, night, clouds).cloud_factor, at_first);
    hourly_et(Reference::asce_short, kPlace, hour_of(kNoon, 25, 40, 2, 900), clouds);
    const double clear = clouds.factor();
    CHECK_GT(clear, 0.9);
    CHECK_EQ(hourly_et(Reference::asce_short, kPlace, night, clouds).cloud_factor, clear);
    hourly_et(Reference::asce_short, kPlace, hour_of(kNoon, 25, 40, 2, 0), clouds);
    CHECK_EQ(clouds.factor(), doctest::Approx(1.35 * 0.3 - 0.35)); // ASCE Eq. 45
    hourly_et(Reference::asce_short, kPlace, hour_of(kNoon, 25, 40, 2, 1500), clouds);
    CHECK_EQ(clouds.factor(), doctest::Approx(1.0));
    // Every hour of a day at which the sun stands lower than 0.3 rad leaves it alone.
    int low = 0;
    for (int h = 0; h < 24; ++h) {
        CloudMemory memory;
        memory.set(0.5);
        const HourlyEt et = hourly_et(Reference::asce_short, kPlace,
                                      hour_of(kNoon + std::chrono::hours{h}, 20, 50, 1, 5), memory);
        CHECK_EQ(memory.factor() == 0.5, et.sun_elevation_rad < 0.3);
        low += et.sun_elevation_rad < 0.3;
    }
    CHECK_GT(low, 10);
    CHECK_LT(low, 18);
}

TEST_CASE("the hours of a day add up to about the day") {
    CloudMemory clouds;
    double sum = 0;
    double above_air = 0;
    const WallTime midnight = parse_iso8601("2026-08-22T07:00:00Z").value();
    DailyWeather day;
    day.temp_min_c = 14;
    day.temp_max_c = 30;
    day.wind_2m_m_s = 2;
    day.vapour_kpa = 1.2;
    for (int h = 0; h < 24; ++h) {
        HourlyWeather hour;
        const WallTime start = midnight + std::chrono::hours{h};
        hour.air_temp_c = 22 + 8 * std::cos(2 * 3.14159265358979 * (h - 15) / 24);
        hour.vapour_kpa = day.vapour_kpa;
        hour.wind_2m_m_s = day.wind_2m_m_s;
        hour.solar_mj = 0.7 * hour_sun(kPlace, start, 0.0820).extraterrestrial_mj;
        day.solar_mj += hour.solar_mj;
        const HourlyEt et = hourly_et(Reference::asce_short, kPlace, start, hour, clouds);
        sum += et.et_mm;
        above_air += et.extraterrestrial_mj;
    }
    const DailyEt whole = daily_et(Reference::asce_short, kPlace, 234, day);
    CHECK_EQ(above_air, doctest::Approx(whole.extraterrestrial_mj).epsilon(0.002));
    CHECK_EQ(sum, doctest::Approx(whole.et_mm).epsilon(0.08)); // ASCE: hourly and daily agree so
}

TEST_CASE("every value of the weather's range gives a finite answer") {
    for (const double t : {-60.0, 0.0, 60.0})
        for (const double humidity : {0.0, 100.0})
            for (const double wind : {0.0, 60.0})
                for (const double solar : {0.0, 1500.0})
                    for (const double latitude : {-90.0, 0.0, 90.0}) {
                        CloudMemory clouds;
                        const Place place{latitude, 180, 6000};
                        const Hour hour = hour_of(kNoon, t, humidity, wind, solar);
                        CHECK(std::isfinite(
                            hourly_et(Reference::asce_tall, place, hour, clouds).et_mm));
                        DailyWeather day;
                        day.temp_min_c = t;
                        day.temp_max_c = t;
                        day.wind_2m_m_s = wind;
                        CHECK(std::isfinite(daily_et(Reference::fao56, place, 1, day).et_mm));
                    }
}

TEST_CASE("the dew point is the inverse of the saturation curve") {
    for (double t = -40; t <= 50; t += 5)
        CHECK_EQ(dew_point_c(saturation_vapour_kpa(t)), doctest::Approx(t).epsilon(1e-9));
    CHECK_EQ(vapour_from_wet_bulb_kpa(20, 20, 101.3), saturation_vapour_kpa(20));
    CHECK_EQ(vapour_from_wet_bulb_kpa(0, 50, 101.3), 0); // impossible, but no negative vapour
}
