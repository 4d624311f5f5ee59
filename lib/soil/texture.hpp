// Soil texture to hydraulic properties.
//
// One published set throughout: Saxton and Rawls 2006, Soil Sci. Soc. Am. J. 70:1569-1578. Chosen
// over the van Genuchten class means of Carsel and Parrish 1988 because its field capacities agree
// with FAO-56 Table 19 (loam 0.28 against 0.16 there, FAO-56 0.20-0.30), it takes sand, clay and
// organic matter as continuous inputs, and it is fitted to agricultural topsoil.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace firstmow::soil {

enum class TextureClass : std::uint8_t {
    sand,
    loamy_sand,
    sandy_loam,
    loam,
    silt_loam,
    silt,
    sandy_clay_loam,
    clay_loam,
    silty_clay_loam,
    sandy_clay,
    silty_clay,
    clay,
};

// As the garden file writes it ("sandy_clay_loam").
std::string_view key(TextureClass texture);
std::span<const std::string_view> texture_keys();
std::optional<TextureClass> texture_by_key(std::string_view key);

// Fractions of the fine earth by weight; organic matter in percent.
struct Composition {
    double sand = 0;                 // 0..1, sand + clay <= 1
    double clay = 0;                 // 0..0.6
    double organic_matter_pct = 2.5; // 0..8
};
// The class's point in the texture triangle of Saxton and Rawls 2006, Table 3.
Composition composition(TextureClass texture);

// The numbers that describe a soil, and its three curves. Water contents (theta) are volume
// fractions. `air_entry_kpa` and `a_kpa` are suctions and positive; the functions speak of matric
// potential like everything else in the project: suction with its sign turned, 0 or negative.
struct Hydraulics {
    double saturation = 0;     // theta at 0
    double field_capacity = 0; // theta at 33 kPa
    double wilting_point = 0;  // theta at 1500 kPa
    double saturated_mm_per_h = 0;
    double air_entry_kpa = 0; // suction at which pores begin to drain
    double a_kpa = 0;         // suction = a * theta^-b from 33 kPa on (drier)
    double b = 0;

    // Matric potential (kPa, <= 0) of a water content, over the whole range: 0 at saturation and
    // above, from -air_entry_kpa just below it in a straight line to -33 kPa at field capacity,
    // the power law beyond.
    double potential_kpa(double theta) const;
    // Its inverse; `potential_kpa` <= 0.
    double water_content(double potential_kpa) const;
    double conductivity_mm_per_h(double theta) const;
};
Hydraulics hydraulics(const Composition& composition);

} // namespace firstmow::soil
