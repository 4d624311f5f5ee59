// Which species of a mix decide. Inside of the turf room.
#pragma once

#include "turf/establishment.hpp"

namespace firstmow::turf {

bool important(const Progress& progress, const SpeciesProgress& species);

// Part of the way to all up, may exceed 1.
double emergence_fraction(const SpeciesProgress& species);

// Of the important ones, the one furthest behind or ahead on its way to all up; the first of the
// mix among equals, the quicker kind for `fastest`. Null only for an empty mix.
const SpeciesProgress* slowest(const Progress& progress);
const SpeciesProgress* fastest(const Progress& progress);

// Least root depth of the important species; the zone's own where there is no mix (sod).
double shallowest_roots_mm(const Progress& progress);

// Longest good-weather growth from all up to the first mow among the important ones, degree-days,
// and the species that needs it. Null for an empty mix.
struct MowDue {
    const SpeciesTraits* traits = nullptr;
    double growth_cd = 0;
};
MowDue first_mow_due(const Progress& progress);

// Sod: growth from laying to resisting a tug, degree-days.
double knit_cd(const Progress& progress);

} // namespace firstmow::turf
