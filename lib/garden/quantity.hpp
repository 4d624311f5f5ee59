// Quantities as people write them: a number and its unit, "12 mm/h", "0.5 in", "35 L/min".
#pragma once

#include "base/result.hpp"

#include <string_view>

namespace firstmow::garden {

enum class Dimension {
    depth_mm,       // mm, cm, in
    length_m,       // m, ft
    rate_mm_per_h,  // mm/h, in/h
    area_m2,        // m2, ft2
    opening_cm2,    // cm2, in2
    flow_l_per_min, // L/min, gal/min (US gallon)
    percent,        // %
    potential_kpa,  // kPa
    duration_s,     // s, min, h
    duration_days,  // days, weeks
    temperature_c,  // C, F
    cover_g_per_m2, // g/m2, lb/1000 ft2 (what is spread over an area)
    volume_l,       // L, gal (US gallon)
    speed_m_s,      // m/s, km/h, mph
    price_per_m3,   // per m3, per 1000 gal (US), per 100 ft3; of no particular currency
};

// The value in the unit that the dimension is named by. The error says what is wrong and lists
// the units that would be right; a number without a unit is such an error.
Result<double> parse_quantity(std::string_view text, Dimension dimension);

// "mm, cm or in".
std::string_view units_of(Dimension dimension);

} // namespace firstmow::garden
