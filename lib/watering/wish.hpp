// What one zone would like, were the tap its own: the first half of planning.
#pragma once

#include "watering/planner.hpp"
#include "watering/sizer.hpp"

namespace firstmow::watering {

struct Wish {
    ZonePlan plan;          // start: the latest good moment; none when nothing is wished
    std::vector<Span> open; // when the zone may be watered at all, from `now` on
    double flow_l_per_min = 0;
};
struct PlannedRun {
    WallTime start;
    int run_s = 0;
    bool ahead = false; // needed or not
};

// `evenings` as far as evenings_of() gives them. `closing`: when the zone's hours end that day,
// where that is before the tap's (tap_day.hpp). `lengths` of runs by day.
Wish wish(const PlanContext& context, const Evenings& evenings, const ZoneTask& task,
          std::optional<WallTime> closing = std::nullopt, Lengths lengths = Lengths::searched);
Wish wish(const PlanContext& context, const ZoneTask& task);

// The same with a run that was found for it otherwise, where one is wished.
void give(Wish& wish, const PlanContext& context, const ZoneTask& task, const PlannedRun& run);

// When the zone's next run may begin at the earliest, as far as hours and the tap let it: not while
// its valve is open, it rests, a person holds it or an interlock forbids it.
WallTime may_begin(const PlanContext& context, const ZoneTask& task);

// When the zone counts as dry to the planner, with its margins for what it cannot know.
DryTest planned_for(const ZoneTask& task);
// When the zone may be watered, as far ahead as a plan looks.
std::vector<Span> open_for(const PlanContext& context, const Evenings& evenings,
                           Seconds before_sunset);

// The same up to sunset: past the evening limit.
std::vector<Span> until_sunset(const PlanContext& context, const Evenings& evenings);

// The sunsets that planning needs, the same for all zones.
Evenings evenings_of(const PlanContext& context);

} // namespace firstmow::watering
