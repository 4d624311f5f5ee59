// Completing readings: every value that a source did not give is estimated by a published
// method from those it gave, or assumed from the days before, and marked as such.
#pragma once

#include "weather/hour.hpp"

#include <span>
#include <vector>

namespace firstmow::weather {

// Completes the last of `recent` (readings in order, up to 72 h back, gaps allowed; not empty).
// Only what had passed by then is used, so an hour comes out the same live and in hindsight.
//
// Estimates: humidity from the dew point, where that was given (the same thing in other words, so
// its origin stays `measured`); solar radiation from cloud (Kasten and Czeplak 1980), else from the
// temperature range of the last 24 h (Hargreaves-Samani, FAO-56 Eq. 50, kRs 0.175, spread over the
// day as extraterrestrial radiation is, at most a clear sky's); humidity from the vapour of the
// same hour yesterday, else from the night's minimum temperature as dew point (FAO-56 Eq. 48, lower
// in dry country); radiation and dew point need most of a day of temperatures. Wind from the same
// hour yesterday, else 2 m/s (FAO-56 p. 63); temperature from the same hour of the day before; no
// rain when rain is unknown (the safe side for seed). Works with nothing but the time of the hour:
// then every value but the wind is `assumed` from place and season.
Hour complete(const Place& place, std::span<const Reading> recent);

// What to assume for the hour starting at `start` when no source speaks of it: the same hour of
// the newest day in `past` (complete hours in order), without its rain and under a clear sky, which
// is the safe side for seed. With no such hour of the last month in `past`, one of a warm clear day
// of the place and season. By what the last hour of `past` that was not assumed itself was warmer
// or colder, drier or damper, windier or calmer than was to be assumed of it in the same way, this
// one is too, the less the later it comes. Hours of `past` from `start` on are not looked at.
Hour assume(const Place& place, WallTime start, std::span<const Hour> past);

} // namespace firstmow::weather
