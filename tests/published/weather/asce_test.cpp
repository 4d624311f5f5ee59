// ASCE-EWRI 2005, appendix C: Greeley, Colorado, July 2000, daily and hourly; and the unit-test
// values of the public RefET library (WSWUP/RefET, commit 2c3e2e0) for Fallon, Nevada.
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <array>
#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

constexpr Place kGreeley{40.41, -104.78, 1462.4};
constexpr Place kFallon{39.4575, -118.77388, 1208.5};

void near(double value, double expected, double tolerance) {
    CHECK_GE(value, expected - tolerance);
    CHECK_LE(value, expected + tolerance);
}

double celsius(double fahrenheit) {
    return (fahrenheit - 32) * 5 / 9;
}

struct GreeleyDay {
    int day_of_year;
    double temp_max_c, temp_min_c, vapour_kpa, solar_mj, wind_3m_m_s;
    double clear_sky_mj, net_longwave_mj, net_radiation_mj, short_mm, tall_mm;
};

// ASCE-EWRI 2005, tables C-2 and C-3.
constexpr std::array<GreeleyDay, 10> kDays{{
    {183, 32.4, 10.9, 1.27, 22.4, 1.94, 32.43, 3.96, 13.31, 5.71, 7.34},
    {184, 33.6, 12.2, 1.19, 26.8, 2.14, 32.39, 5.45, 15.20, 6.71, 8.68},
    {185, 32.6, 14.8, 1.40, 23.3, 2.06, 32.36, 4.15, 13.78, 5.98, 7.65},
    {186, 33.8, 11.8, 1.18, 29.0, 1.97, 32.32, 6.14, 16.19, 6.86, 8.73},
    {187, 32.7, 15.9, 1.59, 27.9, 2.98, 32.27, 5.15, 16.33, 7.03, 9.07},
    {188, 36.3, 15.8, 1.58, 29.2, 2.37, 32.23, 5.67, 16.83, 7.50, 9.60},
    {189, 35.5, 16.7, 1.13, 23.2, 2.43, 32.18, 4.71, 13.15, 7.03, 9.56},
    {190, 34.4, 18.3, 1.38, 22.1, 1.95, 32.13, 4.02, 13.00, 6.16, 7.99},
    {191, 32.7, 15.1, 1.38, 26.5, 1.75, 32.08, 5.16, 15.27, 6.20, 7.68},
    {192, 32.7, 15.7, 1.59, 27.7, 2.31, 32.02, 5.15, 16.15, 6.61, 8.28},
}};

struct GreeleyHour {
    int label; // the end of the hour, mountain standard time
    double temp_c, vapour_kpa, solar_mj, wind_3m_m_s;
    double above_air_mj, clear_sky_mj, net_longwave_mj, net_radiation_mj, short_mm, tall_mm;
};

constexpr double kNotGiven = -99;

// ASCE-EWRI 2005, tables C-4 and C-5, 16 h on 1 July to 21 h on 2 July 2000. At 13 h the table
// prints Rnl as 0.0332, a misprint for 0.332: its own Rn says so.
constexpr std::array<GreeleyHour, 30> kHours{{
    {16, 30.9, 1.09, 2.24, 4.07, 3.26, 2.54, 0.284, 1.441, 0.61, 0.82},
    {17, 31.2, 1.15, 1.65, 3.58, 2.52, 1.96, 0.262, 1.009, 0.48, 0.66},
    {18, 29.1, 1.21, 0.34, 1.15, 1.68, 1.31, 0.017, 0.244, 0.14, 0.19},
    {19, 28.3, 1.21, 0.32, 3.04, 0.81, 0.63, 0.017, 0.229, 0.22, 0.35},
    {20, 26.0, 1.13, 0.08, 2.21, 0.09, 0.07, 0.017, 0.044, 0.12, 0.21},
    {21, 22.9, 1.20, 0, 1.04, 0, 0, 0.016, -0.016, 0.04, 0.06},
    {22, 20.1, 1.35, 0, 0.58, 0, 0, 0.015, -0.015, 0.01, 0.02},
    {23, 19.9, 1.35, 0, 0.95, 0, 0, 0.015, -0.015, 0.02, 0.04},
    {24, 18.4, 1.32, 0, 0.30, 0, 0, 0.015, -0.015, 0.01, 0.01},
    {25, 16.5, 1.26, 0, 0.50, 0, 0, 0.014, -0.014, 0.01, 0.01},
    {26, 15.4, 1.34, 0, 1.00, 0, 0, 0.014, -0.014, 0.01, 0.02},
    {27, 15.5, 1.31, 0, 0.68, 0, 0, 0.014, -0.014, 0.01, 0.01},
    {28, 13.5, 1.26, 0, 0.69, 0, 0, 0.014, -0.014, 0.01, 0.01},
    {29, 13.2, 1.24, 0.03, 0.29, 0.05, 0.04, 0.014, 0.009, 0.01, 0.01},
    {30, 16.2, 1.31, 0.46, 1.24, 0.72, 0.56, 0.014, 0.340, 0.10, 0.12},
    {31, 20.0, 1.36, 1.09, 1.28, 1.59, 1.24, 0.223, 0.616, 0.19, 0.23},
    {32, 22.9, 1.39, 1.74, 0.88, 2.43, 1.90, 0.244, 1.096, 0.32, 0.37},
    {33, 26.4, 1.25, 2.34, 0.72, 3.19, 2.49, 0.278, 1.524, 0.46, 0.52},
    {34, 28.2, 1.17, 2.84, 1.52, 3.81, 2.97, 0.299, 1.888, 0.60, 0.70},
    {35, 29.8, 1.03, 3.25, 1.97, 4.26, 3.32, 0.331, 2.171, 0.72, 0.85},
    {36, 30.9, 1.02, 3.21, 2.07, 4.49, 3.50, 0.308, 2.164, 0.73, 0.88},
    {37, 31.8, 0.98, 3.34, 2.76, 4.51, 3.51, 0.332, 2.239, 0.79, 0.97},
    {38, 32.5, 0.87, 2.96, 2.90, 4.29, 3.34, 0.315, 1.964, 0.74, 0.93},
    {39, 32.9, 0.86, 2.25, 3.10, 3.87, 3.01, 0.248, 1.485, 0.62, 0.81},
    {40, 32.4, 0.93, 1.35, 2.77, 3.26, 2.54, 0.134, 0.905, 0.44, 0.60},
    {41, 30.2, 1.14, 0.88, 3.41, 2.52, 1.96, 0.084, 0.593, 0.35, 0.52},
    {42, 30.6, 1.27, 0.79, 2.78, 1.68, 1.31, 0.147, 0.461, 0.29, 0.42},
    {43, 28.3, 1.27, 0.27, 2.95, 0.81, 0.63, 0.143, 0.065, 0.17, 0.29},
    {44, 25.9, 1.17, 0.03, 3.27, 0.09, 0.07, 0.143, -0.120, 0.10, 0.14},
    {45, 23.9, 1.20, 0, 2.86, kNotGiven, kNotGiven, kNotGiven, kNotGiven, 0.07, 0.10},
}};

} // namespace

TEST_CASE("ASCE-EWRI 2005 appendix C: the site") {
    near(pressure_kpa(kGreeley.elevation_m), 85.17, 0.005);
    near(psychrometric_kpa_per_c(pressure_kpa(kGreeley.elevation_m)), 0.0566, 0.00005);
    near(wind_at_2m_m_s(1, 3), 0.92092, 0.00001);
}

TEST_CASE("ASCE-EWRI 2005 appendix C: ten days, short and tall") {
    for (const GreeleyDay& row : kDays) {
        CAPTURE(row.day_of_year);
        DailyWeather day;
        day.temp_min_c = row.temp_min_c;
        day.temp_max_c = row.temp_max_c;
        day.vapour_kpa = row.vapour_kpa;
        day.solar_mj = row.solar_mj;
        day.wind_2m_m_s = wind_at_2m_m_s(row.wind_3m_m_s, 3);
        const DailyEt et = daily_et(Reference::asce_short, kGreeley, row.day_of_year, day);
        // The printed inputs are rounded, and so are these.
        near(et.clear_sky_mj, row.clear_sky_mj, 0.02);
        near(et.net_longwave_mj, row.net_longwave_mj, 0.06);
        near(et.net_radiation_mj, row.net_radiation_mj, 0.08);
        near(et.et_mm, row.short_mm, 0.03);
        near(daily_et(Reference::asce_tall, kGreeley, row.day_of_year, day).et_mm, row.tall_mm,
             0.03);
    }
}

TEST_CASE("ASCE-EWRI 2005 appendix C: thirty hours, the cloud factor carried through the night") {
    // Midnight of 1 July, mountain standard time.
    const WallTime midnight = parse_iso8601("2000-07-01T07:00:00Z").value();
    CloudMemory short_clouds;
    CloudMemory tall_clouds;
    for (const GreeleyHour& row : kHours) {
        CAPTURE(row.label);
        HourlyWeather hour;
        hour.air_temp_c = row.temp_c;
        hour.vapour_kpa = row.vapour_kpa;
        hour.solar_mj = row.solar_mj;
        hour.wind_2m_m_s = wind_at_2m_m_s(row.wind_3m_m_s, 3);
        const WallTime start = midnight + std::chrono::hours{row.label - 1};
        const HourlyEt low = hourly_et(Reference::asce_short, kGreeley, start, hour, short_clouds);
        const HourlyEt tall = hourly_et(Reference::asce_tall, kGreeley, start, hour, tall_clouds);
        near(low.et_mm, row.short_mm, 0.006);
        near(tall.et_mm, row.tall_mm, 0.006);
        if (row.above_air_mj == kNotGiven) continue;
        near(low.extraterrestrial_mj, row.above_air_mj, 0.011);
        near(low.clear_sky_mj, row.clear_sky_mj, 0.008);
        near(low.net_longwave_mj, row.net_longwave_mj, 0.002);
        near(low.net_radiation_mj, row.net_radiation_mj, 0.003);
    }
}

TEST_CASE("RefET library: Fallon, 1 July 2015, the day") {
    DailyWeather day;
    day.temp_min_c = celsius(66.65);
    day.temp_max_c = celsius(102.80);
    day.vapour_kpa = vapour_from_dew_point_kpa(celsius(49.84));
    day.solar_mj = 674.07 * 0.041868;
    day.wind_2m_m_s = wind_at_2m_m_s(4.80 * 0.44704, 3);
    near(day.solar_mj, 28.22196276, 1e-8);
    near(day.wind_2m_m_s, 1.976111757722194, 1e-12);
    near(day.vapour_kpa, 1.2206674169951346, 1e-12);
    near((saturation_vapour_kpa(day.temp_min_c) + saturation_vapour_kpa(day.temp_max_c)) / 2,
         4.6747236227258835, 1e-12);
    near(pressure_kpa(kFallon.elevation_m), 87.80710537, 1e-8);
    // Their slope of the vapour curve is ASCE Eq. 5 (2503), ours here is FAO-56 Eq. 13 (4098 e).
    near(saturation_slope_kpa_per_c((day.temp_min_c + day.temp_max_c) / 2) * 2503 / (4098 * 0.6108),
         0.23488581814, 1e-10);

    const DailyEt tall = daily_et(Reference::asce_tall, kFallon, 182, day);
    near(tall.extraterrestrial_mj, 41.64824568, 1e-8);
    near(tall.clear_sky_mj, 32.24282, 1e-5);
    near(tall.net_longwave_mj, 6.362676, 1e-6);
    near(tall.net_radiation_mj, 15.368235, 1e-6);
    near(tall.et_mm, 10.626087665395694, 1e-9);
    // Not asserted there with the ASCE method; recomputed from its inputs.
    near(daily_et(Reference::asce_short, kFallon, 182, day).et_mm, 7.997968911538578, 1e-9);
}

TEST_CASE("RefET library: Fallon, 1 July 2015, 18 to 19 h UTC") {
    const WallTime start = parse_iso8601("2015-07-01T18:00:00Z").value();
    HourlyWeather hour;
    hour.air_temp_c = celsius(91.80);
    hour.vapour_kpa = vapour_from_dew_point_kpa(celsius(49.36));
    hour.solar_mj = 61.16 * 0.041868;
    hour.wind_2m_m_s = wind_at_2m_m_s(3.33 * 0.44704, 3);
    near(hour.wind_2m_m_s, 1.3709275319197722, 1e-12);
    near(hour.vapour_kpa, 1.1990099614301906, 1e-12);
    near(saturation_vapour_kpa(hour.air_temp_c), 5.09318785, 1e-8);
    near(hour_sun(kFallon, start, 4.92 / 60).hour_angle_rad, -0.3866778, 1e-7);

    CloudMemory clouds;
    const HourlyEt low = hourly_et(Reference::asce_short, kFallon, start, hour, clouds);
    near(low.extraterrestrial_mj, 4.30635461533285, 1e-9);
    near(low.clear_sky_mj, 3.33385, 1e-5);
    near(low.cloud_factor, 0.68690, 1e-5);
    near(low.net_longwave_mj, 0.23075, 1e-5);
    near(low.net_radiation_mj, 1.74094, 1e-5);
    near(low.et_mm, 0.6063515410076268, 1e-9);
    const HourlyEt tall = hourly_et(Reference::asce_tall, kFallon, start, hour, clouds);
    near(tall.et_mm, 0.7196369609713682, 1e-6);
    // What is left of the difference: for this one value the library takes the slope of FAO-56
    // Eq. 13, not of ASCE Eq. 5. Put in, it comes out to the last digit.
    const double slope = saturation_slope_kpa_per_c(hour.air_temp_c);
    const double gamma = psychrometric_kpa_per_c(pressure_kpa(kFallon.elevation_m));
    const double deficit = saturation_vapour_kpa(hour.air_temp_c) - hour.vapour_kpa;
    const double radiation = 0.408 * slope * (tall.net_radiation_mj - tall.soil_heat_mj);
    const double wind = gamma * 66 / (hour.air_temp_c + 273) * hour.wind_2m_m_s * deficit;
    near((radiation + wind) / (slope + gamma * (1 + 0.25 * hour.wind_2m_m_s)), 0.7196369609713682,
         1e-9);
}

TEST_CASE("a weather-data provider's own hourly value: Open-Meteo, unit test of its FAO hour") {
    // Inputs of that test: 25 C, 2 m/s at 10 m, dew point 13.8 C, 300 W/m2, 250 m, and
    // extraterrestrial radiation 626.4218 W/m2 given outright. Here radiation follows from the
    // place, so the latitude is sought at which it comes out so.
    const WallTime noon = parse_iso8601("2023-03-21T12:00:00Z").value();
    double south = 20;
    double north = 80;
    for (int i = 0; i < 60; ++i) {
        const double middle = (south + north) / 2;
        const double flux =
            hour_sun(Place{middle, 0, 250}, noon, 0.0820).extraterrestrial_mj / 0.0036;
        (flux > 626.4218 ? south : north) = middle;
    }
    const Place place{south, 0, 250};
    HourlyWeather hour;
    hour.air_temp_c = 25;
    hour.vapour_kpa = vapour_from_dew_point_kpa(13.8);
    hour.wind_2m_m_s = wind_at_2m_m_s(2, 10);
    hour.solar_mj = 300 * 0.0036;
    CloudMemory clouds;
    const HourlyEt day = hourly_et(Reference::fao56, place, noon, hour, clouds);
    CHECK_GT(day.sun_elevation_rad, 0.3);
    near(day.et_mm, 0.23535, 0.00003);

    // Its night hour takes Rs/Rso as 0.8 - 0.4 RH.
    const double humidity = hour.vapour_kpa / saturation_vapour_kpa(25);
    clouds.set(1.35 * (0.8 - 0.4 * humidity) - 0.35);
    hour.solar_mj = 0;
    const HourlyEt night =
        hourly_et(Reference::fao56, place, noon + std::chrono::hours{12}, hour, clouds);
    CHECK_EQ(night.extraterrestrial_mj, 0);
    near(night.et_mm, 0.05084, 0.00003);
}
