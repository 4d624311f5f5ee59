// The worked examples of FAO-56 (Allen, Pereira, Raes, Smith 1998), chapters 3 and 4, by number.
// Printed results carry the tolerance of their last digit; those called "full" were recomputed
// in double precision from the inputs of the example.
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

constexpr double kGsc = 0.0820;

double degrees(double whole, double minutes) {
    return whole + minutes / 60;
}
double radians(double degrees) {
    return degrees * std::numbers::pi / 180;
}

void near(double value, double expected, double tolerance) {
    CHECK_GE(value, expected - tolerance);
    CHECK_LE(value, expected + tolerance);
}

// The part of an ET that radiation makes, from FAO-56 Eq. 6.
double radiation_term_mm(const DailyEt& et, double temp_c, double elevation_m, double wind,
                         double soil_heat_mj) {
    const double slope = saturation_slope_kpa_per_c(temp_c);
    const double gamma = psychrometric_kpa_per_c(pressure_kpa(elevation_m));
    return 0.408 * slope * (et.net_radiation_mj - soil_heat_mj) /
           (slope + gamma * (1 + 0.34 * wind));
}

} // namespace

TEST_CASE("FAO-56 examples 2 to 5: air") {
    near(pressure_kpa(1800), 81.8, 0.05); // Ex. 2
    near(psychrometric_kpa_per_c(pressure_kpa(1800)), 0.054, 0.0005);

    near(saturation_vapour_kpa(24.5), 3.075, 0.0005); // Ex. 3
    near(saturation_vapour_kpa(15), 1.705, 0.0005);
    near((saturation_vapour_kpa(24.5) + saturation_vapour_kpa(15)) / 2, 2.39, 0.005);

    near(pressure_kpa(1200), 87.9, 0.05); // Ex. 4
    near(vapour_from_wet_bulb_kpa(19.5, 25.6, 87.9), 1.91, 0.005);

    near(vapour_from_humidity_extremes_kpa(18, 25, 54, 82), 1.70, 0.005); // Ex. 5
    near(vapour_from_humidity_max_kpa(18, 82), 1.69, 0.005);
    near(vapour_from_humidity_mean_kpa(18, 25, 68), 1.78, 0.005);
}

TEST_CASE("FAO-56 examples 8 and 9: extraterrestrial radiation and daylight, 20 S, 3 September") {
    near(inverse_distance(246), 0.984829, 1e-6);
    near(declination_rad(246), 0.119655, 1e-6);
    near(sunset_hour_angle_rad(radians(-20), declination_rad(246)), 1.527, 0.0005); // printed
    near(extraterrestrial_daily_mj(radians(-20), 246, kGsc), 32.1940, 1e-4);
    near(0.408 * extraterrestrial_daily_mj(radians(-20), 246, kGsc), 13.1, 0.05); // printed, mm
    near(daylight_hours(radians(-20), 246), 11.6656, 1e-4);                       // Ex. 9
}

TEST_CASE("FAO-56 examples 10 to 12: radiation, 22 54' S, May") {
    const double latitude = radians(-degrees(22, 54));
    const double above_air = extraterrestrial_daily_mj(latitude, 135, kGsc);
    near(above_air, 25.1110, 1e-4);
    near(daylight_hours(latitude, 135), 10.8951, 1e-4);
    const double sunshine = 220.0 / 31; // h/day
    const double solar =
        solar_from_sunshine_mj(above_air, sunshine / daylight_hours(latitude, 135));
    near(solar, 14.4561, 0.001);
    near(0.408 * solar, 5.9, 0.05);

    near(clear_sky_mj(above_air, 0), 18.833, 0.001); // Ex. 11
    // The example rounds Rs to 14.5 before it goes on.
    DailyWeather day;
    day.temp_min_c = 19.1;
    day.temp_max_c = 25.1;
    day.vapour_kpa = 2.1;
    day.solar_mj = 14.5;
    const Place place{-degrees(22, 54), 0, 0};
    const DailyEt et = daily_et(Reference::fao56, place, 135, day);
    near(et.net_longwave_mj, 3.5, 0.05);
    near(0.408 * et.net_longwave_mj, 1.4, 0.05);
    near(net_shortwave_mj(14.5), 11.1, 0.1); // Ex. 12 prints 0.77 x 14.5 = 11.165 as 11.1
    near(et.net_radiation_mj, 7.6, 0.05);
    near(0.408 * et.net_radiation_mj, 3.1, 0.05);

    day.solar_mj = solar; // full
    near(daily_et(Reference::fao56, place, 135, day).net_longwave_mj, 3.5085, 0.001);
    near(daily_et(Reference::fao56, place, 135, day).net_radiation_mj, 7.6227, 0.001);
}

TEST_CASE("FAO-56 examples 13 to 15: soil heat, wind, radiation from temperature") {
    near(soil_heat_past_and_next_month_mj(14.1, 18.8), 0.33, 0.005);     // Ex. 13
    near(wind_at_2m_m_s(3.2, 10), 2.4, 0.05);                            // Ex. 14
    near(solar_from_temperature_mj(40.6, 14.8, 26.6, 0.16), 22.3, 0.05); // Ex. 15
    // FAO-56 Eq. 47 with Annex 2, table 2.9: the factors for 10 m and 3 m.
    near(wind_at_2m_m_s(1, 10), 0.748, 0.0005);
    near(wind_at_2m_m_s(1, 3), 0.921, 0.0005);
    near(wind_at_2m_m_s(1, 2), 1.0, 0.001);
}

TEST_CASE("FAO-56 example 17: Bangkok, April, monthly means") {
    const Place place{degrees(13, 44), 100, 2};
    const double latitude = radians(place.latitude_deg);
    const double above_air = extraterrestrial_daily_mj(latitude, 105, kGsc);
    DailyWeather day;
    day.temp_min_c = 25.6;
    day.temp_max_c = 34.8;
    day.vapour_kpa = 2.85;
    day.wind_2m_m_s = 2;
    day.solar_mj = solar_from_sunshine_mj(above_air, 8.5 / daylight_hours(latitude, 105));
    day.soil_heat_mj = soil_heat_past_month_mj(29.2, 30.2);
    near(day.soil_heat_mj, 0.14, 0.005);
    near(pressure_kpa(2), 101.3, 0.05);
    near(saturation_slope_kpa_per_c(30.2), 0.246, 0.0005);
    near(psychrometric_kpa_per_c(101.3), 0.0674, 0.00005); // with the printed pressure
    near(above_air, 38.06, 0.005);
    near(daylight_hours(latitude, 105), 12.31, 0.005);
    near(day.solar_mj, 22.65, 0.005);

    const DailyEt et = daily_et(Reference::fao56, place, 105, day);
    near(et.clear_sky_mj, 28.54, 0.01);
    near(et.net_longwave_mj, 3.11, 0.01);
    near(et.net_radiation_mj, 14.33, 0.01);
    const double radiation = radiation_term_mm(et, 30.2, 2, 2, day.soil_heat_mj);
    near(radiation, 3.97, 0.005);
    near(et.et_mm - radiation, 1.75, 0.005);
    near(et.et_mm, 5.72, 0.05);
    near(et.et_mm, 5.7161, 0.001);
}

TEST_CASE("FAO-56 example 18: Uccle, 6 July") {
    const Place place{degrees(50, 48), 4.35, 100};
    const double latitude = radians(place.latitude_deg);
    const double above_air = extraterrestrial_daily_mj(latitude, 187, kGsc);
    DailyWeather day;
    day.temp_min_c = 12.3;
    day.temp_max_c = 21.5;
    day.vapour_kpa = vapour_from_humidity_extremes_kpa(12.3, 21.5, 63, 84);
    day.wind_2m_m_s = wind_at_2m_m_s(10 / 3.6, 10);
    day.solar_mj = solar_from_sunshine_mj(above_air, 9.25 / daylight_hours(latitude, 187));
    near(day.vapour_kpa, 1.409, 0.0005);
    near(day.wind_2m_m_s, 2.078, 0.0005);
    near(above_air, 41.09, 0.005);
    near(daylight_hours(latitude, 187), 16.1, 0.05);
    near(day.solar_mj, 22.07, 0.01);
    near(pressure_kpa(100), 100.1, 0.05);
    near(saturation_slope_kpa_per_c(16.9), 0.122, 0.0005);
    near(psychrometric_kpa_per_c(pressure_kpa(100)), 0.0666, 0.00005);

    const DailyEt et = daily_et(Reference::fao56, place, 187, day);
    near(et.clear_sky_mj, 30.90, 0.005);
    near(et.net_longwave_mj, 3.71, 0.01);
    near(et.net_radiation_mj, 13.28, 0.01);
    const double radiation = radiation_term_mm(et, 16.9, 100, day.wind_2m_m_s, 0);
    near(radiation, 2.81, 0.005);
    near(et.et_mm - radiation, 1.07, 0.005);
    near(et.et_mm, 3.88, 0.05);
    near(et.et_mm, 3.8803, 0.001);
}

TEST_CASE("FAO-56 example 20: Lyon, July, with only temperatures") {
    const Place place{degrees(45, 43), 4.85, 200};
    const double above_air = extraterrestrial_daily_mj(radians(place.latitude_deg), 196, kGsc);
    near(above_air, 40.55, 0.005);
    DailyWeather day;
    day.temp_min_c = 14.8;
    day.temp_max_c = 26.6;
    day.vapour_kpa = vapour_from_night_minimum_kpa(14.8);
    day.wind_2m_m_s = 2;
    day.solar_mj = solar_from_temperature_mj(above_air, 14.8, 26.6, 0.16);
    near(day.vapour_kpa, 1.68, 0.005);
    near(day.solar_mj, 22.29, 0.005);

    const DailyEt et = daily_et(Reference::fao56, place, 196, day);
    near(et.clear_sky_mj, 30.58, 0.005);
    near(et.net_longwave_mj, 3.68, 0.01);
    near(et.net_radiation_mj, 13.48, 0.01);
    const double radiation = radiation_term_mm(et, 20.7, 200, 2, 0);
    near(radiation, 3.17, 0.01);
    near(et.et_mm - radiation, 1.39, 0.01);
    near(et.et_mm, 4.5604, 0.001);
    day.wind_2m_m_s = 1;
    near(daily_et(Reference::fao56, place, 196, day).et_mm, 4.2277, 0.001);
    day.wind_2m_m_s = 3;
    near(daily_et(Reference::fao56, place, 196, day).et_mm, 4.8406, 0.001);
    near(hargreaves_et_mm(above_air, 14.8, 26.6), 5.0331, 0.001);
}

TEST_CASE("FAO-56 example 19: N'Diaye, two hours of 1 October") {
    const Place place{degrees(16, 13), -degrees(16, 15), 8};
    // The clock of the example is UTC - 1 h: 02-03 h is 03-04 h UTC. A year without leap day.
    const WallTime midnight = parse_iso8601("1997-10-01T01:00:00Z").value();
    near(inverse_distance(274), 1.0001, 0.00005);
    near(declination_rad(274), -0.0753, 0.00005);

    HourlyWeather night;
    night.air_temp_c = 28;
    night.vapour_kpa = 0.90 * saturation_vapour_kpa(28);
    night.wind_2m_m_s = 1.9;
    CloudMemory clouds;
    clouds.set(1.35 * 0.8 - 0.35); // the example assumes Rs/Rso = 0.8
    const WallTime two = midnight + std::chrono::hours{2};
    near(hour_sun(place, two, kGsc).hour_angle_rad, -2.46, 0.005);
    const HourlyEt dark = hourly_et(Reference::fao56, place, two, night, clouds);
    CHECK_EQ(dark.extraterrestrial_mj, 0);
    near(dark.net_longwave_mj, 0.100, 0.0005);
    near(dark.net_radiation_mj, -0.100, 0.0005);
    near(dark.soil_heat_mj, -0.050, 0.0005);
    near(dark.et_mm, 0.00434, 0.00001);

    HourlyWeather noon;
    noon.air_temp_c = 38;
    noon.vapour_kpa = 0.52 * saturation_vapour_kpa(38);
    noon.wind_2m_m_s = 3.3;
    noon.solar_mj = 2.450;
    const WallTime fourteen = midnight + std::chrono::hours{14};
    near(hour_sun(place, fourteen, kGsc).hour_angle_rad, 0.682, 0.0005);
    const HourlyEt bright = hourly_et(Reference::fao56, place, fourteen, noon, clouds);
    near(bright.extraterrestrial_mj, 3.543, 0.0005);
    near(bright.clear_sky_mj, 2.658, 0.0005);
    near((bright.cloud_factor + 0.35) / 1.35, 0.922, 0.0005); // Rs/Rso
    near(net_shortwave_mj(2.450), 1.887, 0.0005);
    near(bright.net_longwave_mj, 0.137, 0.0005);
    near(bright.net_radiation_mj, 1.749, 0.0006);
    near(bright.soil_heat_mj, 0.175, 0.0005);
    near(bright.et_mm, 0.63, 0.005);
    near(bright.et_mm, 0.62693, 0.00005);
}

TEST_CASE("beyond the polar circle the sunset angle is clamped") {
    // Edges that the tests of the RefET library (WSWUP/RefET 2c3e2e0) assert as well.
    CHECK_EQ(sunset_hour_angle_rad(radians(70), declination_rad(182)), std::numbers::pi);
    CHECK_EQ(sunset_hour_angle_rad(radians(-70), declination_rad(182)), 0);
    CHECK_EQ(extraterrestrial_daily_mj(radians(68), 1, kGsc), 0);
}
