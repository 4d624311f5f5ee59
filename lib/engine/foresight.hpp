// The coming day as the engine would live it: every run that is to be expected, and the wetness
// that goes with them.
//
// A copy of the state is stepped by the engine itself through the hours that are expected (the
// forecast, assumed weather behind it), with valves that obey at once. So it shows what would be
// done, not what a second planner thinks. It costs what a day of the engine costs, far more than a
// view: callers make it beside the control loop and put it into the view when it is there. Pure.
#pragma once

#include "engine/earth.hpp"
#include "engine/engine.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::engine {

struct ZoneForesight {
    std::string zone;
    std::vector<PlannedRun> runs;     // whose start lies after `from`, in order
    std::vector<CoursePoint> course;  // every 30 min from the first half hour on
    std::optional<WallTime> dry_from; // first line at which the seed zone is below its threshold
    double lowest_kpa = 0;            // of the driest quarter's seed zone
    std::vector<DryStretch> spells;   // in order, the first 20; lines of ten minutes
    double dry_hours = 0;             // below the threshold, in all
    ZoneEarth earth{};                // with the day behind, when it was asked for
};
struct Foresight {
    WallTime from;
    WallTime until;
    std::vector<ZoneForesight> zones;      // in the garden's order
    std::vector<ShortfallView> shortfalls; // of the last look for them (shortfalls.hpp), if any
};

// `first` is told to the copy at `now`: an order whose consequences are wanted, for example.
// `ahead` 1 h to 7 days. `with_earth` also fills ZoneForesight::earth.
Foresight foresee(const Setup& setup, const State& state, const Moment& now, Seconds ahead,
                  std::span<const Input> first = {}, bool with_earth = false);

// Shows what was foreseen, as far as it still lies ahead of the view and belongs to its zones.
void put_into(GardenView& view, const Foresight& foresight);

} // namespace firstmow::engine
