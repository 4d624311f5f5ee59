#include "weather/reference_et.hpp"

#include "base/check.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::weather {

namespace {

constexpr double kKelvin = 273.16;        // as both standards write it
constexpr double kMjPerWattHour = 0.0036; // MJ/m2 in an hour of one W/m2
constexpr double kAlbedo = 0.23;
constexpr double kMmPerMj = 0.408; // water that one MJ/m2 evaporates
// Below this height of the sun the ratio of measured to clear-sky radiation says nothing.
constexpr double kLowestTellingSunRad = 0.3;
// Overcast at its thickest (ASCE Eq. 18 and 45; FAO-56 p. 43 names 0.33 for dense cloud).
constexpr double kOvercastRatio = 0.3;
// For a day without any sun to judge by.
constexpr double kUnknownRatio = 0.75;

// What differs between the standards and the two reference surfaces.
struct Surface {
    double numerator = 0;   // Cn
    double denominator = 0; // Cd
    double soil_heat = 0;   // G as a part of the net radiation
};

Surface daily_surface(Reference reference) {
    if (reference == Reference::asce_tall) return {1600, 0.38, 0};
    return {900, 0.34, 0};
}

// ASCE Table 1 and Eq. 65; FAO-56 Eq. 45, 46 and 53.
Surface hourly_surface(Reference reference, bool daytime) {
    switch (reference) {
    case Reference::asce_short:
        return daytime ? Surface{37, 0.24, 0.10} : Surface{37, 0.96, 0.50};
    case Reference::asce_tall:
        return daytime ? Surface{66, 0.25, 0.04} : Surface{66, 1.70, 0.20};
    case Reference::fao56:
        return daytime ? Surface{37, 0.34, 0.10} : Surface{37, 0.34, 0.50};
    }
    CHECK(false);
    return {};
}

double boltzmann_daily(Reference reference) {
    return reference == Reference::fao56 ? 4.903e-9 : 4.901e-9;
}

double boltzmann_hourly(Reference reference) {
    return reference == Reference::fao56 ? 2.043e-10 : 2.042e-10;
}

// The same number in both standards; ASCE writes it by the hour.
double solar_constant(Reference reference) {
    return reference == Reference::fao56 ? 0.0820 : 4.92 / 60;
}

// ASCE Eq. 5 writes the slope with its own rounding of 4098 x 0.6108.
double slope(Reference reference, double temp_c) {
    if (reference == Reference::fao56) return saturation_slope_kpa_per_c(temp_c);
    const double t = temp_c + 237.3;
    return 2503 * std::exp(17.27 * temp_c / t) / (t * t);
}

// FAO-56 Eq. 39, without the temperature term.
double cloud_factor(double ratio) {
    return 1.35 * ratio - 0.35;
}
double air_emissivity(double vapour_kpa) {
    return 0.34 - 0.14 * std::sqrt(vapour_kpa);
}

double fourth_power(double x) {
    return x * x * x * x;
}

// The combination equation, the same for a day and an hour (FAO-56 Eq. 6 and 53; ASCE Eq. 1).
double combination_mm(const Surface& surface, double slope, double psychrometric, double temp_c,
                      double wind, double deficit_kpa, double available_mj) {
    return (kMmPerMj * slope * available_mj +
            psychrometric * surface.numerator / (temp_c + 273) * wind * deficit_kpa) /
           (slope + psychrometric * (1 + surface.denominator * wind));
}

} // namespace

double pressure_kpa(double elevation_m) {
    return 101.3 * std::pow((293 - 0.0065 * elevation_m) / 293, 5.26);
}

double psychrometric_kpa_per_c(double pressure_kpa) {
    return 0.000665 * pressure_kpa;
}

double saturation_vapour_kpa(double temp_c) {
    return 0.6108 * std::exp(17.27 * temp_c / (temp_c + 237.3));
}

double saturation_slope_kpa_per_c(double temp_c) {
    const double t = temp_c + 237.3;
    return 4098 * saturation_vapour_kpa(temp_c) / (t * t);
}

double dew_point_c(double vapour_kpa) {
    CHECK(vapour_kpa > 0);
    const double log_ratio = std::log(vapour_kpa / 0.6108);
    return 237.3 * log_ratio / (17.27 - log_ratio);
}

double vapour_from_dew_point_kpa(double dew_point_c) {
    return saturation_vapour_kpa(dew_point_c);
}

double vapour_from_wet_bulb_kpa(double wet_bulb_c, double dry_bulb_c, double pressure_kpa) {
    // Of an aspirated psychrometer (FAO-56 Eq. 15 and 16).
    const double vapour =
        saturation_vapour_kpa(wet_bulb_c) - 0.000662 * pressure_kpa * (dry_bulb_c - wet_bulb_c);
    return std::max(vapour, 0.0);
}

double vapour_from_humidity_extremes_kpa(double temp_min_c, double temp_max_c, double rh_min_pct,
                                         double rh_max_pct) {
    return (saturation_vapour_kpa(temp_min_c) * rh_max_pct +
            saturation_vapour_kpa(temp_max_c) * rh_min_pct) /
           200;
}

double vapour_from_humidity_max_kpa(double temp_min_c, double rh_max_pct) {
    return saturation_vapour_kpa(temp_min_c) * rh_max_pct / 100;
}

double vapour_from_humidity_mean_kpa(double temp_min_c, double temp_max_c, double rh_mean_pct) {
    return rh_mean_pct / 100 *
           (saturation_vapour_kpa(temp_min_c) + saturation_vapour_kpa(temp_max_c)) / 2;
}

double vapour_from_night_minimum_kpa(double temp_min_c) {
    return saturation_vapour_kpa(temp_min_c);
}

double wind_at_2m_m_s(double wind_m_s, double height_m) {
    // The logarithm of the profile is positive only well above the grass.
    CHECK(height_m >= 0.1);
    return wind_m_s * 4.87 / std::log(67.8 * height_m - 5.42);
}

double clear_sky_mj(double extraterrestrial_mj, double elevation_m) {
    return (0.75 + 2e-5 * elevation_m) * extraterrestrial_mj;
}

double solar_from_sunshine_mj(double extraterrestrial_mj, double sunshine_ratio) {
    return (0.25 + 0.50 * sunshine_ratio) * extraterrestrial_mj;
}

double solar_from_temperature_mj(double extraterrestrial_mj, double temp_min_c, double temp_max_c,
                                 double k_rs) {
    return k_rs * std::sqrt(std::max(temp_max_c - temp_min_c, 0.0)) * extraterrestrial_mj;
}

double net_shortwave_mj(double solar_mj) {
    return (1 - kAlbedo) * solar_mj;
}

double soil_heat_past_and_next_month_mj(double temp_before_c, double temp_after_c) {
    return 0.07 * (temp_after_c - temp_before_c);
}

double soil_heat_past_month_mj(double temp_before_c, double temp_now_c) {
    return 0.14 * (temp_now_c - temp_before_c);
}

DailyEt daily_et(Reference reference, const Place& place, int day_of_year,
                 const DailyWeather& day) {
    CHECK(day_of_year >= 1 && day_of_year <= 366);
    CHECK(day.vapour_kpa >= 0 && day.wind_2m_m_s >= 0 && day.solar_mj >= 0);
    DailyEt result;
    result.extraterrestrial_mj = extraterrestrial_daily_mj(
        place.latitude_deg * std::numbers::pi / 180, day_of_year, solar_constant(reference));
    result.clear_sky_mj = clear_sky_mj(result.extraterrestrial_mj, place.elevation_m);

    double ratio = kUnknownRatio;
    if (result.clear_sky_mj > 0) {
        // FAO-56 states no lower limit for a day.
        const double lowest = reference == Reference::fao56 ? 0 : kOvercastRatio;
        ratio = std::clamp(day.solar_mj / result.clear_sky_mj, lowest, 1.0);
    }
    const double warmth =
        (fourth_power(day.temp_max_c + kKelvin) + fourth_power(day.temp_min_c + kKelvin)) / 2;
    result.net_longwave_mj =
        boltzmann_daily(reference) * warmth * air_emissivity(day.vapour_kpa) * cloud_factor(ratio);
    result.net_radiation_mj = net_shortwave_mj(day.solar_mj) - result.net_longwave_mj;

    const double temp_c = (day.temp_min_c + day.temp_max_c) / 2;
    const double saturation =
        (saturation_vapour_kpa(day.temp_min_c) + saturation_vapour_kpa(day.temp_max_c)) / 2;
    result.et_mm = combination_mm(daily_surface(reference), slope(reference, temp_c),
                                  psychrometric_kpa_per_c(pressure_kpa(place.elevation_m)), temp_c,
                                  day.wind_2m_m_s, saturation - day.vapour_kpa,
                                  result.net_radiation_mj - day.soil_heat_mj);
    return result;
}

double hargreaves_et_mm(double extraterrestrial_mj, double temp_min_c, double temp_max_c) {
    const double mean = (temp_min_c + temp_max_c) / 2;
    return 0.0023 * (mean + 17.8) * std::sqrt(std::max(temp_max_c - temp_min_c, 0.0)) * kMmPerMj *
           extraterrestrial_mj;
}

HourlyEt hourly_et(Reference reference, const Place& place, WallTime hour_start,
                   const HourlyWeather& hour, CloudMemory& clouds) {
    CHECK(hour.vapour_kpa >= 0 && hour.wind_2m_m_s >= 0 && hour.solar_mj >= 0);
    const HourSun sun = hour_sun(place, hour_start, solar_constant(reference));
    HourlyEt result;
    result.extraterrestrial_mj = sun.extraterrestrial_mj;
    result.sun_elevation_rad = sun.elevation_rad;
    result.hour_angle_rad = sun.hour_angle_rad;
    result.clear_sky_mj = clear_sky_mj(sun.extraterrestrial_mj, place.elevation_m);

    if (sun.elevation_rad >= kLowestTellingSunRad)
        clouds.set(
            cloud_factor(std::clamp(hour.solar_mj / result.clear_sky_mj, kOvercastRatio, 1.0)));
    result.cloud_factor = clouds.factor();

    result.net_longwave_mj = boltzmann_hourly(reference) * fourth_power(hour.air_temp_c + kKelvin) *
                             air_emissivity(hour.vapour_kpa) * result.cloud_factor;
    result.net_radiation_mj = net_shortwave_mj(hour.solar_mj) - result.net_longwave_mj;

    const Surface surface = hourly_surface(reference, result.net_radiation_mj > 0);
    result.soil_heat_mj = surface.soil_heat * result.net_radiation_mj;
    const auto taken_mm = [&](double deficit_kpa, double available_mj) {
        return combination_mm(surface, slope(reference, hour.air_temp_c),
                              psychrometric_kpa_per_c(pressure_kpa(place.elevation_m)),
                              hour.air_temp_c, hour.wind_2m_m_s, deficit_kpa, available_mj);
    };
    result.et_mm = taken_mm(saturation_vapour_kpa(hour.air_temp_c) - hour.vapour_kpa,
                            result.net_radiation_mj - result.soil_heat_mj);
    if (hour.solar_mj > 0 && sun.extraterrestrial_mj > 0) {
        const double diffuse = diffuse_fraction(hour.solar_mj / sun.extraterrestrial_mj);
        result.direct_mj = (1 - diffuse) * hour.solar_mj;
        // The equation is linear in the energy.
        result.direct_et_mm =
            taken_mm(0, (1 - surface.soil_heat) * net_shortwave_mj(result.direct_mj));
    }
    return result;
}

HourlyEt hourly_et(Reference reference, const Place& place, const Hour& hour, CloudMemory& clouds) {
    HourlyWeather weather;
    weather.air_temp_c = hour.air_temp_c;
    weather.vapour_kpa = saturation_vapour_kpa(hour.air_temp_c) * hour.rel_humidity_pct / 100;
    weather.wind_2m_m_s = hour.wind_2m_m_s;
    weather.solar_mj = hour.solar_w_m2 * kMjPerWattHour;
    return hourly_et(reference, place, hour.start, weather, clouds);
}

} // namespace firstmow::weather
