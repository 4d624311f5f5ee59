// How much of its roots' water turf gives up without drinking less.
#pragma once

namespace firstmow::turf {

// p of FAO-56 Table 22, turf at 5 mm/d, held for every day: its correction by the day's ETc (0.04
// for each mm) goes with days, and an hour knows none. Beyond it transpiration falls (Eq. 84), so
// grown-in turf is watered before (RAW, Eq. 83).
constexpr double stress_depletion(bool warm_season) {
    return warm_season ? 0.50 : 0.40;
}

} // namespace firstmow::turf
