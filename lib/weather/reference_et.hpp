// Reference evapotranspiration: what the weather takes from a standard grass (or tall) cover.
//
// Sources: ASCE-EWRI 2005, The ASCE Standardized Reference Evapotranspiration Equation ("ASCE");
// Allen, Pereira, Raes, Smith 1998, FAO Irrigation and Drainage Paper 56 ("FAO-56").
// Energy is in MJ/m2 per day or hour as named, vapour pressure in kPa, temperature in deg C.
#pragma once

#include "weather/hour.hpp"

#include <optional>

namespace firstmow::weather {

// Which standard and which reference surface.
enum class Reference { asce_short, asce_tall, fao56 };

// --- Air -------------------------------------------------------------------------------------
double pressure_kpa(double elevation_m);             // FAO-56 Eq. 7
double psychrometric_kpa_per_c(double pressure_kpa); // FAO-56 Eq. 8
double saturation_vapour_kpa(double temp_c);         // FAO-56 Eq. 11
double saturation_slope_kpa_per_c(double temp_c);    // FAO-56 Eq. 13
double dew_point_c(double vapour_kpa);               // inverse of Eq. 11; vapour_kpa > 0
// Every humidity form, best first (FAO-56 Eq. 14-19, 48).
double vapour_from_dew_point_kpa(double dew_point_c);
double vapour_from_wet_bulb_kpa(double wet_bulb_c, double dry_bulb_c, double pressure_kpa);
double vapour_from_humidity_extremes_kpa(double temp_min_c, double temp_max_c, double rh_min_pct,
                                         double rh_max_pct);
double vapour_from_humidity_max_kpa(double temp_min_c, double rh_max_pct);
double vapour_from_humidity_mean_kpa(double temp_min_c, double temp_max_c, double rh_mean_pct);
double vapour_from_night_minimum_kpa(double temp_min_c);
double wind_at_2m_m_s(double wind_m_s, double height_m); // FAO-56 Eq. 47

// --- Radiation -------------------------------------------------------------------------------
double clear_sky_mj(double extraterrestrial_mj, double elevation_m);              // FAO-56 Eq. 37
double solar_from_sunshine_mj(double extraterrestrial_mj, double sunshine_ratio); // FAO-56 Eq. 35
// kRs 0.16 inland, 0.19 by the sea (FAO-56 Eq. 50).
double solar_from_temperature_mj(double extraterrestrial_mj, double temp_min_c, double temp_max_c,
                                 double k_rs);
double net_shortwave_mj(double solar_mj); // albedo 0.23
// Soil heat of a monthly mean day, MJ/m2/day, from the mean temperatures of the months around
// (FAO-56 Eq. 43), or of this month and the one before (Eq. 44).
double soil_heat_past_and_next_month_mj(double temp_before_c, double temp_after_c);
double soil_heat_past_month_mj(double temp_before_c, double temp_now_c);

// --- Daily -----------------------------------------------------------------------------------
struct DailyWeather {
    double temp_min_c = 0;
    double temp_max_c = 0;
    double vapour_kpa = 0; // actual vapour pressure
    double wind_2m_m_s = 0;
    double solar_mj = 0;     // MJ/m2/day
    double soil_heat_mj = 0; // G, MJ/m2/day, 0 for a day
};
struct DailyEt {
    double et_mm = 0;
    double net_radiation_mj = 0;
    double net_longwave_mj = 0;
    double extraterrestrial_mj = 0;
    double clear_sky_mj = 0;
};
DailyEt daily_et(Reference reference, const Place& place, int day_of_year, const DailyWeather& day);
// FAO-56 Eq. 52; for days of which only temperatures are known.
double hargreaves_et_mm(double extraterrestrial_mj, double temp_min_c, double temp_max_c);

// --- Hourly ----------------------------------------------------------------------------------
struct HourlyWeather {
    double air_temp_c = 0;
    double vapour_kpa = 0;
    double wind_2m_m_s = 0;
    double solar_mj = 0; // MJ/m2/hour
};
struct HourlyEt {
    double et_mm = 0; // may be slightly negative at night (dew)
    double net_radiation_mj = 0;
    double net_longwave_mj = 0;
    double soil_heat_mj = 0;
    double extraterrestrial_mj = 0;
    double clear_sky_mj = 0;
    double cloud_factor = 0;      // fcd, 0.055..1
    double sun_elevation_rad = 0; // at the middle of the hour
    double hour_angle_rad = 0;    // of the sun, at the middle of the hour
    // Straight from the sun (by diffuse_fraction), and what of et_mm would be missing without it.
    double direct_mj = 0;
    double direct_et_mm = 0;
};

// The cloudiness factor is only known while the sun stands at least 0.3 rad high; below, the last
// one known is carried forward (ASCE p. 35). So hours are taken in order, and this is the memory
// between them. A value; copy it to look ahead.
class CloudMemory {
public:
    double factor() const { return factor_; }
    void set(double factor) { factor_ = factor; }

private:
    double factor_ = 0.7; // before any daylight: a fairly clear sky (engineering default)
};

// The hour that starts at `hour_start`. No allocation: it is called for every hour of a forecast.
HourlyEt hourly_et(Reference reference, const Place& place, WallTime hour_start,
                   const HourlyWeather& hour, CloudMemory& clouds);
// Of a complete hour; its humidity is that of its temperature.
HourlyEt hourly_et(Reference reference, const Place& place, const Hour& hour, CloudMemory& clouds);

} // namespace firstmow::weather
