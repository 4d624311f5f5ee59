// The table of the grasses. Thermal times are of radicles in the laboratory; where only the field
// was measured they are divided by the same 2.1 that leads back to the field.
//
// "Larsen & Bibby 2005" is Crop Science 45:2030. "from memory" is trade knowledge that was not
// looked up again. "default" is an engineering default: nothing was found, the number is chosen so
// that emergence falls into the range of days that extension services publish.
//
// The uncertainties are defaults too. A lot differs from its species by about 0.15 (cultivar, age,
// depth); on top of that comes the error of the number: 0.13 where the radicle was measured and
// the way to light is borrowed from ryegrass (together 0.2), 0.2 where the number was inferred
// from the field or the literature contradicts itself (0.25), 0.26 where it is a default of ours
// (0.3): Penn State's and Nebraska's days for one species are apart by half as much again.
#include "turf/species.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace firstmow::turf {

namespace {

constexpr double kInch = 25.4;

constexpr std::array<SpeciesTraits, 8> kSpecies{{
    {
        .species = Species::kentucky_bluegrass,
        .key = "kentucky_bluegrass",
        .name = "Kentucky bluegrass",
        .warm_season = false,
        .base_temp_c = 2.6,   // Larsen & Bibby 2005
        .optimum_temp_c = 24, // from memory (22-25); dormancy begins at 25 (Larsen 2004)
        // From memory 35, but a study found less at 34/28 deg C day/night and nothing at 40/30.
        .ceiling_temp_c = 32,     // default between the two
        .thermal_time_cd = 115.6, // Larsen & Bibby 2005
        .base_water_kpa = -800,   // default: 40 % in 21 d at -800 (Springer & Goldman 2016)
        .emergence_factor = 2.1,  // field 135 / laboratory 63.9 of perennial ryegrass
        .uncertainty = 0.2,       // measured; default
        .first_mow_days = 36,     // from memory: 6-9 weeks from seed, less 17 d to all up
        .root_mm_per_day = 4.5,   // from memory: 3-6 at 18-20 deg C
        .mow_low_mm = 2.5 * kInch,
        .mow_high_mm = 3.5 * kInch,
        .canopy_slowness = 1.5, // default
    },
    {
        .species = Species::perennial_ryegrass,
        .key = "perennial_ryegrass",
        .name = "perennial ryegrass",
        .warm_season = false,
        .base_temp_c = 3.6,      // Larsen & Bibby 2005
        .optimum_temp_c = 25,    // from memory (22-25)
        .ceiling_temp_c = 35,    // from memory
        .thermal_time_cd = 63.9, // Larsen & Bibby 2005
        .base_water_kpa = -1000, // default: lower than bluegrass (Larsen 2004), near tall fescue
        .emergence_factor = 2.1, // field 135 / laboratory 63.9, thesis, Lincoln University 1996
        .uncertainty = 0.2,      // measured; default
        .first_mow_days = 16,    // from memory: 3-4 weeks from seed, less 10 d to all up
        .root_mm_per_day = 12,   // from memory: 10-15 at 18-20 deg C
        .mow_low_mm = 2 * kInch,
        .mow_high_mm = 3 * kInch,
        .canopy_slowness = 1, // default: 0.3, 0.6, 0.9 of the ground at 2, 4, 7.5 weeks
    },
    {
        .species = Species::tall_fescue,
        .key = "tall_fescue",
        .name = "tall fescue",
        .warm_season = false,
        .base_temp_c = 3.5,      // Sharifiamina 2016
        .optimum_temp_c = 27.5,  // Sharifiamina 2016
        .ceiling_temp_c = 32.5,  // Sharifiamina 2016
        .thermal_time_cd = 80,   // 169 in the field / 2.1; field from the 1996 thesis
        .base_water_kpa = -950,  // Sharifiamina 2016
        .emergence_factor = 2.1, // as perennial ryegrass; gives back the field's 169
        .uncertainty = 0.25,     // inferred; default
        .first_mow_days = 23,    // from memory: 4-6 weeks from seed, less 12 d to all up
        .root_mm_per_day = 10,   // from memory: 8-12 at 18-20 deg C
        .mow_low_mm = 3 * kInch,
        .mow_high_mm = 4 * kInch,
        .canopy_slowness = 1, // default
    },
    {
        .species = Species::fine_fescue,
        .key = "fine_fescue",
        .name = "fine fescue",
        .warm_season = false,
        .base_temp_c = 2.6,      // Larsen & Bibby 2005, red fescue
        .optimum_temp_c = 25,    // Purdue after Beard: 15-25 for red and sheep fescue
        .ceiling_temp_c = 35,    // from memory
        .thermal_time_cd = 43.8, // Larsen & Bibby 2005, red fescue
        .base_water_kpa = -1000, // default: lower than bluegrass (Larsen 2004)
        // default: 2.1 would bring it up in 5-7 days, sooner than the published 7-14. The shoot
        // is given the 70 degree-days from radicle to light that ryegrass takes: (43.8+70)/43.8.
        .emergence_factor = 2.6,
        .uncertainty = 0.25,  // half of it a default
        .first_mow_days = 27, // from memory: 4-6 weeks from seed, less 8 d to all up
        .root_mm_per_day = 8, // from memory: 6-10 at 18-20 deg C
        .mow_low_mm = 2.5 * kInch,
        .mow_high_mm = 3.5 * kInch,
        .canopy_slowness = 1.2, // default
    },
    {
        .species = Species::creeping_bentgrass,
        .key = "creeping_bentgrass",
        .name = "creeping bentgrass",
        .warm_season = false,
        .base_temp_c = 5,        // default; emerges at 10 deg C soil (HortTechnology 31:42)
        .optimum_temp_c = 27,    // default inside 15-30, Purdue after Beard
        .ceiling_temp_c = 40,    // default: still germinates at 40/30 day/night
        .thermal_time_cd = 70,   // default: up in 7-14 days at 16-22 deg C
        .base_water_kpa = -900,  // default
        .emergence_factor = 2.1, // as perennial ryegrass
        .uncertainty = 0.3,      // default
        .first_mow_days = 23,    // from memory: 4-6 weeks from seed, less 12 d to all up
        .root_mm_per_day = 5,    // default
        .mow_low_mm = 0.25 * kInch,
        .mow_high_mm = 0.75 * kInch,
        .canopy_slowness = 1.2, // default
    },
    {
        .species = Species::bermudagrass,
        .key = "bermudagrass",
        .name = "bermudagrass",
        .warm_season = true,
        .base_temp_c = 12,       // from memory (10-13); growth 12.5-13.2 (Flournoy 2017)
        .optimum_temp_c = 33,    // default: growth 31.8-36.1 (Flournoy 2017)
        .ceiling_temp_c = 43,    // default
        .thermal_time_cd = 80,   // default: up in 10-30 days at 22-28 deg C, hulled nearer 10
        .base_water_kpa = -1200, // default
        .emergence_factor = 2.1, // default, as perennial ryegrass
        .uncertainty = 0.3,      // default
        .first_mow_days = 15,    // from memory: 3-5 weeks from seed, less 13 d to all up
        .root_mm_per_day = 10,   // default
        .mow_low_mm = 0.75 * kInch,
        .mow_high_mm = 2 * kInch,
        .canopy_slowness = 1, // default
    },
    {
        .species = Species::zoysiagrass,
        .key = "zoysiagrass",
        .name = "zoysiagrass",
        .warm_season = true,
        .base_temp_c = 12,       // from memory (10-13); growth 12.5-13.2 (Flournoy 2017)
        .optimum_temp_c = 33,    // default: growth 31.8-36.1 (Flournoy 2017)
        .ceiling_temp_c = 43,    // default
        .thermal_time_cd = 100,  // default: up in 14-21 days at 22-27 deg C
        .base_water_kpa = -1000, // default
        .emergence_factor = 2.1, // default, as perennial ryegrass
        .uncertainty = 0.3,      // default
        .first_mow_days = 39,    // from memory: 6-10 weeks from seed, less 17 d to all up
        .root_mm_per_day = 4,    // default
        .mow_low_mm = 1 * kInch,
        .mow_high_mm = 2 * kInch,
        .canopy_slowness = 1.8, // default
    },
    {
        .species = Species::buffalograss,
        .key = "buffalograss",
        .name = "buffalograss",
        .warm_season = true,
        .base_temp_c = 11,       // from memory (10-13)
        .optimum_temp_c = 33,    // default: growth 31.8-36.1 (Flournoy 2017)
        .ceiling_temp_c = 43,    // default
        .thermal_time_cd = 115,  // default: up in 14-30 days at 22-28 deg C
        .base_water_kpa = -1200, // default
        .emergence_factor = 2.1, // default, as perennial ryegrass
        .uncertainty = 0.3,      // default
        .first_mow_days = 38,    // from memory: 6-10 weeks from seed, less 18 d to all up
        .root_mm_per_day = 6,    // default
        .mow_low_mm = 2 * kInch,
        .mow_high_mm = 4 * kInch,
        .canopy_slowness = 1.5, // default
    },
}};

} // namespace

const SpeciesTraits& traits(Species species) {
    const auto index = static_cast<std::size_t>(species);
    CHECK(index < kSpecies.size() && kSpecies[index].species == species);
    return kSpecies[index];
}

std::span<const SpeciesTraits> all_species() {
    return kSpecies;
}

std::optional<Species> species_by_key(std::string_view key) {
    const auto found = std::ranges::find(kSpecies, key, &SpeciesTraits::key);
    if (found == kSpecies.end()) return std::nullopt;
    return found->species;
}

} // namespace firstmow::turf
