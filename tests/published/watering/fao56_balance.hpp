// The daily water balance of FAO-56 (Allen, Pereira, Raes and Smith 1998, FAO Irrigation and
// Drainage Paper 56, chapters 7 and 8), written from its equations: what the engine's column is
// held against. Shares nothing with it.
#pragma once

#include <algorithm>
#include <cmath>

namespace fao56 {

// --- Chapter 7, dual crop coefficient ---------------------------------------------------------
// Eq. 72. `start` is 1.2; 1.1 where the surface is wetted daily or every second day.
inline double kc_max(double wind_m_s, double rh_min_pct, double height_m, double kcb,
                     double start = 1.2) {
    const double climate =
        (0.04 * (wind_m_s - 2) - 0.004 * (rh_min_pct - 45)) * std::pow(height_m / 3, 0.3);
    return std::max(start + climate, kcb + 0.05);
}
// Eq. 70: Kcb of Table 17 in another climate.
inline double kcb_adjusted(double kcb, double wind_m_s, double rh_min_pct, double height_m) {
    return kcb + (0.04 * (wind_m_s - 2) - 0.004 * (rh_min_pct - 45)) * std::pow(height_m / 3, 0.3);
}
// Eq. 73.
inline double total_evaporable_mm(double field_capacity, double wilting_point, double depth_m) {
    return 1000 * (field_capacity - 0.5 * wilting_point) * depth_m;
}
// Eq. 74.
inline double kr(double depleted_mm, double rew_mm, double tew_mm) {
    if (depleted_mm <= rew_mm) return 1;
    return std::max((tew_mm - depleted_mm) / (tew_mm - rew_mm), 0.0);
}
// Eq. 75 and 76.
inline double few(double covered, double wetted) {
    return std::min(1 - covered, wetted);
}
inline double covered(double kcb, double kc_min, double kc_max, double height_m) {
    return std::pow((kcb - kc_min) / (kc_max - kc_min), 1 + 0.5 * height_m);
}
// Eq. 71.
inline double ke(double kr, double kc_max, double kcb, double few) {
    return std::min(kr * (kc_max - kcb), few * kc_max);
}

// The surface layer: Eq. 77, water early in the day.
struct Surface {
    double tew_mm = 0;
    double rew_mm = 0;
    double depleted_mm = 0;

    struct Day {
        double start_mm, kr, ke, evaporated_mm, percolated_mm;
    };
    // `rain_mm` and `irrigation_mm` over the wetted part.
    Day pass(double eto_mm, double kc_max, double kcb, double few, double rain_mm = 0,
             double irrigation_mm = 0) {
        Day day{};
        day.percolated_mm = std::max(rain_mm + irrigation_mm - depleted_mm, 0.0);
        depleted_mm = std::max(depleted_mm - rain_mm - irrigation_mm, 0.0);
        day.start_mm = depleted_mm;
        day.kr = fao56::kr(depleted_mm, rew_mm, tew_mm);
        day.ke = fao56::ke(day.kr, kc_max, kcb, few);
        day.evaporated_mm = day.ke * eto_mm;
        depleted_mm = std::min(depleted_mm + day.evaporated_mm / few, tew_mm);
        return day;
    }
};

// --- Chapter 8, root zone ---------------------------------------------------------------------
// Eq. 82 and 83, and the correction of p below Table 22.
inline double total_available_mm(double field_capacity, double wilting_point, double depth_m) {
    return 1000 * (field_capacity - wilting_point) * depth_m;
}
inline double p_of_day(double p_table, double etc_mm) {
    return std::clamp(p_table + 0.04 * (5 - etc_mm), 0.1, 0.8);
}
// Eq. 84.
inline double ks(double depleted_mm, double taw_mm, double p) {
    if (depleted_mm <= p * taw_mm) return 1;
    return std::max((taw_mm - depleted_mm) / ((1 - p) * taw_mm), 0.0);
}

// Eq. 85, water early in the day as in example 38: it fills first, then the day draws.
struct RootZone {
    double taw_mm = 0;
    double p = 0;
    double depleted_mm = 0;
    double percolated_mm = 0; // of the last day

    // Returns the day's ETc, with the evaporation given and stress on the transpiration.
    double pass(double eto_mm, double kcb, double ke, double water_mm = 0, double rise_mm = 0) {
        percolated_mm = std::max(water_mm - depleted_mm, 0.0);
        depleted_mm = std::max(depleted_mm - water_mm, 0.0);
        const double etc = (ks(depleted_mm, taw_mm, p) * kcb + ke) * eto_mm;
        depleted_mm = std::clamp(depleted_mm + etc - rise_mm, 0.0, taw_mm);
        return etc;
    }
};

} // namespace fao56
