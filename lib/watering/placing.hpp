// When a run goes, and how long it is there: at the latest good moment, so that as much as can be
// is known of the weather. Inside of the room.
#pragma once

#include "watering/sizer.hpp"
#include "watering/wish.hpp"

namespace firstmow::watering {

// How a run is sized: to keep the bed damp, to fill it, or as the last of a day (sizer.hpp).
enum class Fill { damp, deep, last };

// Places a run that is due at `due`, not before `earliest`, within `hours`, which the sizer looks
// at too; sized for its moment. Late where it must be; withheld where the hours let none begin.
void place(Wish& wish, const std::vector<Span>& hours, const Sizer& sizer, WallTime due,
           WallTime earliest, Fill fill, const ZoneTask& task);

// The same run up to sunset, with `hours` longer; all as it was where that brings it no sooner.
void try_until_sunset(Wish& wish, std::vector<Span>& hours, const PlanContext& context,
                      const Evenings& evenings, const ZoneTask& task, const Sizer& sizer,
                      WallTime earliest, bool deep);

// The first moment at or after `t` at which a run can begin; a span too short for it is used all
// the same if it is the only kind there is.
std::optional<WallTime> earliest_start(const std::vector<Span>& open, WallTime t, int run_s);

// A run that would outlast the tap's hours is cut at their end.
int within_hours(const std::vector<Span>& open, WallTime start, int run_s);

} // namespace firstmow::watering
