// Germination as thermal time, and what dry soil does to it. Inside of the turf room.
//
// Per day: d tau = rate(T) / thermal_time x water(psi). rate rises with T above the species' base
// and falls in a straight line from its optimum to nothing at its ceiling; water is the hydrotime
// factor (psi - psi_base) / (0 - psi_base). Larsen & Bibby 2005, Crop Science 45:2030 (thermal
// time); Sharifiamina 2016 (the fall above the optimum, tall fescue). Progress is kept when dry
// seed waits (Allen, White & Markhart 1993).
#pragma once

#include "turf/species.hpp"

namespace firstmow::turf {

// The first radicles are out, drying kills from here.
inline constexpr double kFirstRadicleTau = 0.6;

// Degree-days gathered in a day at this temperature of wet soil.
double germination_cd_per_day(const SpeciesTraits& traits, double soil_temp_c);

// 0 (stands still) .. 1 (wet).
double water_factor(const SpeciesTraits& traits, double matric_kpa);

// tau at which a person first sees green: 1.7 where half are visible at 2.1, about one seedling in
// fifteen, as far before the half as the last come after it (default).
double first_green_tau(const SpeciesTraits& traits);

// tau at which all seedlings that will come are up: 2.5 where half are at 2.1.
double all_up_tau(const SpeciesTraits& traits);

} // namespace firstmow::turf
