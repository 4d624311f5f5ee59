// Where the sun stands: for radiation (the formulas that the ET standard prescribes) and for
// sunrise, sunset and noon (an astronomer's algorithm, good to a minute).
#pragma once

#include "weather/hour.hpp"

#include <optional>

namespace firstmow::weather {

// --- As FAO-56 and ASCE-EWRI 2005 prescribe --------------------------------------------------
double inverse_distance(int day_of_year); // dr, FAO-56 Eq. 23
double declination_rad(int day_of_year);  // FAO-56 Eq. 24
// Clamped: 0 in the polar night, pi in the polar day (FAO-56 Eq. 25).
double sunset_hour_angle_rad(double latitude_rad, double declination_rad);
double daylight_hours(double latitude_rad, int day_of_year); // FAO-56 Eq. 34
// MJ/m2/day. `solar_constant_mj_per_min`: 0.0820 (FAO-56), 4.92/60 (ASCE).
double extraterrestrial_daily_mj(double latitude_rad, int day_of_year,
                                 double solar_constant_mj_per_min);
struct HourSun {
    double extraterrestrial_mj = 0; // MJ/m2 in the hour
    double elevation_rad = 0;       // at the middle of the hour
    double hour_angle_rad = 0;      // at the middle of the hour
};
// The hour starting at `hour_start` (UTC).
HourSun hour_sun(const Place& place, WallTime hour_start, double solar_constant_mj_per_min);

// Part of the sun's radiation that comes from the sky and not straight from the sun, 0..1, of an
// hour whose radiation on the flat is `clearness` (>= 0) of what arrives above the air
// (Erbs, Klein and Duffie 1982, Solar Energy 28:293-302).
double diffuse_fraction(double clearness);

// --- As seen from the garden -----------------------------------------------------------------
struct SunTimes {
    WallTime noon;                   // upper culmination
    std::optional<WallTime> sunrise; // upper limb, refraction 34'; none in polar day or night
    std::optional<WallTime> sunset;
    bool always_up = false; // polar day
};
// Of the solar day whose noon falls on the calendar `date` at the meridian of the place.
// Within 60 s of an ephemeris below 60 degrees of latitude.
SunTimes sun_times(const Place& place, Date date);

} // namespace firstmow::weather
