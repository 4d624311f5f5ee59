// The grasses: what each needs to come up, and how it is sown and mown.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace firstmow::turf {

enum class Species : std::uint8_t {
    kentucky_bluegrass,
    perennial_ryegrass,
    tall_fescue,
    fine_fescue,
    creeping_bentgrass,
    bermudagrass,
    zoysiagrass,
    buffalograss,
};

// Every number with its source beside it in species.cpp.
struct SpeciesTraits {
    Species species{};
    std::string_view key;  // as the garden file writes it
    std::string_view name; // as people read it
    bool warm_season = false;
    // Thermal time of germination (laboratory, radicle out in half of the seeds).
    double base_temp_c = 0;     // no progress at or below
    double optimum_temp_c = 0;  // fastest; slower above
    double ceiling_temp_c = 0;  // no progress at or above
    double thermal_time_cd = 0; // deg C x days above base to half the radicles out
    // Hydrotime: no progress in soil drier than this.
    double base_water_kpa = 0; // negative
    // Half the seedlings visible at this multiple of the thermal time of half the radicles.
    double emergence_factor = 0;
    // Of the thermal time to half the seedlings, relative (log standard deviation): how far a lot
    // in somebody's bed may be from these numbers.
    double uncertainty = 0;
    // Days from "all up" to the first mow in good growing weather: 20 deg C, warm-season 27.
    double first_mow_days = 0;
    double root_mm_per_day = 0; // root front of a seedling in good growing weather
    double mow_low_mm = 0;      // the height that it is kept at, from memory
    double mow_high_mm = 0;
    double canopy_slowness = 1; // time the canopy takes to close, ryegrass and tall fescue = 1
};

const SpeciesTraits& traits(Species species);
std::span<const SpeciesTraits> all_species();
std::optional<Species> species_by_key(std::string_view key);

} // namespace firstmow::turf
