#include "turf/thermal_time.hpp"

#include <algorithm>

namespace firstmow::turf {

double germination_cd_per_day(const SpeciesTraits& traits, double soil_temp_c) {
    const double above_base = std::min(soil_temp_c, traits.optimum_temp_c) - traits.base_temp_c;
    if (above_base <= 0 || soil_temp_c >= traits.ceiling_temp_c) return 0;
    if (soil_temp_c <= traits.optimum_temp_c) return above_base;
    return above_base * (traits.ceiling_temp_c - soil_temp_c) /
           (traits.ceiling_temp_c - traits.optimum_temp_c);
}

double water_factor(const SpeciesTraits& traits, double matric_kpa) {
    return std::clamp(1 - matric_kpa / traits.base_water_kpa, 0.0, 1.0);
}

double first_green_tau(const SpeciesTraits& traits) {
    return traits.emergence_factor * (1.7 / 2.1);
}

double all_up_tau(const SpeciesTraits& traits) {
    return traits.emergence_factor * (2.5 / 2.1);
}

} // namespace firstmow::turf
