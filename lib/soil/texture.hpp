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

// What a soil is made of. A texture class stands for its representative point.
struct Composition {
    double sand = 0;                 // share of the fine earth by weight, 0..1, sand + clay <= 1
    double clay = 0;                 // 0..0.6
    double organic_matter_pct = 2.5; // by weight, 0..8
    double gravel_pct = 0;           // what is coarser than 2 mm, by weight of the whole, 0..60
    double density_factor = 1;       // bulk density over what is usual for this soil, 0.9..1.3

    Composition() = default;
    Composition(double sand_share, double clay_share, double organic_matter = 2.5)
        : sand(sand_share), clay(clay_share), organic_matter_pct(organic_matter) {}
    // Saxton and Rawls 2006, Table 3, with 2.5 % organic matter.
    Composition(TextureClass texture); // NOLINT(google-explicit-constructor): a class is a soil
    bool operator==(const Composition&) const = default;
};
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
    bool organic = false; // compost, peat: carries heat less than mineral soil

    // Matric potential (kPa, <= 0) of a water content, over the whole range: 0 at saturation and
    // above, from -air_entry_kpa just below it in a straight line to -33 kPa at field capacity,
    // the power law beyond.
    double potential_kpa(double theta) const;
    // Its inverse; `potential_kpa` <= 0.
    double water_content(double potential_kpa) const;
    double conductivity_mm_per_h(double theta) const;
    bool operator==(const Hydraulics&) const = default;
};
// Whether the equations describe such a soil: each number in its range, and a soil that still has
// room for water that drains, water for plants, and some that stays. Pure sand without organic
// matter has none that stays; a clay a third denser than usual has none that drains.
bool described(const Composition& composition);
// Equations 1-5 and 16-18 of the paper; density by its equations 6-10 (from memory, as are the
// next), gravel by 19-22: stones hold no water, and water has to go around them. `described` soils
// only.
Hydraulics hydraulics(const Composition& composition);
// Ripe green-waste compost as it is spread over a lawn. An assumption, no published set: pore space
// 0.75, water 0.38 at 33 kPa and 0.22 at 1500 kPa, 200 mm/h when full, in the curves of the others.
Hydraulics compost();

} // namespace firstmow::soil
