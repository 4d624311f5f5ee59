// Growth after emergence: its thermal time, the canopy that closes, the roots that go down.
// Inside of the turf room.
//
// Growth days are counted in "good days": cool-season at 20 deg C (15 degree-days above 5),
// warm-season at 27 (14.5 degree-days above 12.5). Cool-season shoots grow best at 60-75 F and
// stop at 90 F, roots at 50-65 F and stop at 77 F in soil (NC State); warm-season growth has its
// base at 12.5-13.2 and its optimum at 31.8-36.1 deg C (Flournoy 2017). Canopy and root rates are
// engineering defaults (species.cpp).
#pragma once

#include "turf/species.hpp"

namespace firstmow::turf {

inline constexpr double kRootsAtEmergenceMm = 10;
inline constexpr double kDeepestRootsMm = 150;

// Turf that is overseeded, engineering defaults: worn and mown short it covers a third of the
// ground; left alone it closes by 1.5 % a good day, to 70 %; a light mow takes it back to 40 %, and
// is wanted each week of good growth (mow early and often: common practice, no source).
inline constexpr double kStandingTurfCover = 0.35;
inline constexpr double kStandingTurfMost = 0.7;
inline constexpr double kStandingTurfMown = 0.4;
inline constexpr double kStandingTurfPerGoodDay = 0.015;
inline constexpr double kStandingTurfMowDays = 7;

// Part of their growth that standing turf of this cover leaves the seedlings between it: 1 when
// just cut, 0.58 when it has closed (default).
double light_share(double standing_cover);

// Degree-days of growth gathered in a day at this temperature of the seed zone.
double growth_cd_per_day(bool warm_season, double soil_temp_c);
// Degree-days of growth in a good day.
double good_day_cd(bool warm_season);

// Part of a good day's root growth at this temperature, 0..1.
double root_rate(const SpeciesTraits& traits, double soil_temp_c);

// Ground covered by a stand this many good days after half of it was visible, 0..1: 0.3, 0.6, 0.9
// after 14, 28 and 52 days, later for a slow species.
double canopy_fraction(const SpeciesTraits& traits, double good_days);

} // namespace firstmow::turf
