// Six kinds of invented weather, one repeating day each, as the surface of a bare bed sees it.
//
// Smooth curves with sizes from memory of such days; what they are for is to ask the same of two
// columns, so their truth matters less than their range: demand 2 to 11 mm a day, surface 14 to
// 52 deg C, air vapour 0.5 to 2.4 kPa.
#pragma once

#include "soil/column.hpp"

#include <array>
#include <vector>

namespace firstmow::compare {

struct Weather {
    const char* name;
    double demand_mm_per_day;
    double coldest_c, warmest_c; // of the surface
    double vapour_kpa;
    double rain_mm; // showers at 03:00 and 17:00 of every third day, together
};
inline constexpr std::array<Weather, 6> kWeathers{{
    {"hot dry", 8.5, 20, 48, 1.2, 0},
    {"windy arid", 11, 16, 44, 0.5, 0},
    {"warm", 5.5, 16, 38, 1.5, 0},
    {"humid", 4.5, 21, 36, 2.4, 0},
    {"cool cloudy", 2, 10, 19, 1.0, 0},
    {"showery", 4, 13, 30, 1.4, 9},
}};

// The seedbed is watered this way on top of the rain.
struct Watering {
    const char* name;
    double rate_mm_per_h;
    double first_morning_mm; // at 06:00 of the first day
    double run_mm;           // at 07:00, 11:00 and 15:00 of every other day
};
inline constexpr std::array<Watering, 3> kWaterings{{
    {"once, then drying", 12, 12, 0},
    {"three light runs", 12, 12, 1.2},
    {"three full runs", 12, 12, 2.5},
}};

// Sprinkling at this hour (0 to 24, local) of the so-manieth day, mm/h.
double sprinkling_mm_per_h(const Watering& watering, int day, double hour);

// `days` from midnight in steps of 5 minutes.
std::vector<soil::SurfaceForcing> forcing(const Weather& weather, const Watering& watering,
                                          int days);

} // namespace firstmow::compare
