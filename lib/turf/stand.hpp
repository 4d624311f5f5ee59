// What becomes of the seeds of a lot: who is in danger, and how many are left.
//
// Three states of danger, each seed for itself (Allen, White & Markhart 1993, perennial ryegrass):
//   imbibing     drying only costs time, progress is kept;
//   radicle out  drying kills: germinating seedlings can die within a few hours (NC State);
//   rooted       the roots reach below what dries, the danger fades as they go down.
//
// How many die how fast is not published. Assumed: nothing above -300 kPa (seed zones are kept
// wetter than -200 to -400 kPa by design); at -1500 kPa, the wilting point, half of those in danger
// within 4 hours ("a few hours"); between and beyond along the logarithm of the suction. Roots end
// the danger from 10 mm, where it is whole, to 40 mm, where it is over. No repair, no hardening by
// an earlier drought.
#pragma once

#include "turf/establishment.hpp"

namespace firstmow::turf {

// Deaths per hour among seeds and seedlings in danger, 0 or more.
double death_rate_per_h(double matric_kpa);

// Lets the bed act on one species for `hours`. Inside of the turf room.
void advance_stand(SpeciesProgress& species, const Bed& bed, double hours);

} // namespace firstmow::turf
