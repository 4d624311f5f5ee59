#include "weather/sun.hpp"

#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

constexpr double kGsc = 0.0820;
using std::chrono::hours;

} // namespace

TEST_CASE("the hours add up to the day's extraterrestrial radiation, beyond the polar circle too") {
    for (const double latitude : {-85.0, -70.0, -35.0, 0.0, 48.0, 66.0, 67.0, 70.0, 89.0}) {
        for (const double longitude : {-179.0, -60.0, 0.0, 7.5, 180.0}) {
            for (const char* date : {"2026-06-21", "2026-09-10", "2026-12-21"}) {
                const Place place{latitude, longitude, 0};
                // From midnight of the meridian.
                const WallTime start = WallTime{std::chrono::sys_days{parse_date(date).value()}} -
                                       Seconds{static_cast<int>(longitude * 240)};
                double sum = 0;
                for (int h = 0; h < 24; ++h)
                    sum += hour_sun(place, start + hours{h}, kGsc).extraterrestrial_mj;
                const double day = extraterrestrial_daily_mj(
                    latitude * std::numbers::pi / 180, day_of_year(parse_date(date).value()), kGsc);
                CAPTURE(latitude);
                CAPTURE(longitude);
                CAPTURE(date);
                CHECK_LE(std::abs(sum - day), 0.002 * day + 1e-9);
            }
        }
    }
}

TEST_CASE("no sun reaches the hours whose whole length lies in the night") {
    const Place place{50, 10, 0};
    const Date date = parse_date("2026-08-22").value();
    const SunTimes sun = sun_times(place, date);
    REQUIRE(sun.sunrise.has_value());
    REQUIRE(sun.sunset.has_value());
    for (int h = -6; h < 30; ++h) {
        const WallTime start = WallTime{std::chrono::sys_days{date}} + hours{h};
        const double mj = hour_sun(place, start, kGsc).extraterrestrial_mj;
        // The prescribed formulas know no refraction: give them ten minutes.
        const Seconds slack{600};
        if (start + hours{1} < *sun.sunrise - slack && start > *sun.sunset - hours{24} + slack)
            CHECK_EQ(mj, 0);
        if (start > *sun.sunrise && start + hours{1} < *sun.sunset) CHECK_GT(mj, 0);
    }
}

TEST_CASE("the day's times belong to the day of the meridian, east and west of the date line") {
    const Date date = parse_date("2026-08-22").value();
    for (double longitude = -180; longitude <= 180; longitude += 15) {
        const SunTimes sun = sun_times(Place{42, longitude, 0}, date);
        const WallTime mean_noon = WallTime{std::chrono::sys_days{date}} + hours{12} -
                                   Seconds{static_cast<int>(longitude * 240)};
        CHECK_LE(std::abs((sun.noon - mean_noon).count()), 20 * 60);
        REQUIRE(sun.sunrise.has_value());
        REQUIRE(sun.sunset.has_value());
        CHECK_LT(*sun.sunrise, sun.noon);
        CHECK_LT(sun.noon, *sun.sunset);
        CHECK_LT(*sun.sunset - *sun.sunrise, hours{15});
        CHECK_FALSE(sun.always_up);
    }
}

TEST_CASE("polar day and polar night have no sunrise") {
    const SunTimes day = sun_times(Place{75, 20, 0}, parse_date("2026-06-21").value());
    CHECK(day.always_up);
    CHECK_FALSE(day.sunrise.has_value());
    CHECK_FALSE(day.sunset.has_value());
    const SunTimes night = sun_times(Place{75, 20, 0}, parse_date("2026-12-21").value());
    CHECK_FALSE(night.always_up);
    CHECK_FALSE(night.sunrise.has_value());
    CHECK_FALSE(night.sunset.has_value());
    for (const double pole : {-90.0, 90.0}) {
        const SunTimes june = sun_times(Place{pole, 0, 0}, parse_date("2026-06-21").value());
        CHECK_EQ(june.always_up, pole > 0);
        CHECK_FALSE(june.sunrise.has_value());
    }
}
