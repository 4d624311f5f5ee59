// What one zone would like, were the tap its own: the first half of planning.
#pragma once

#include "watering/planner.hpp"

namespace firstmow::watering {

struct Wish {
    ZonePlan plan;          // start: the latest good moment; none when nothing is wished
    std::vector<Span> open; // when the zone may be watered at all, from `now` on
    double flow_l_per_min = 0;
};
// `evenings` as far as evenings_of() gives them.
Wish wish(const PlanContext& context, const Evenings& evenings, const ZoneTask& task);
Wish wish(const PlanContext& context, const ZoneTask& task);

// The sunsets that planning needs, the same for all zones.
Evenings evenings_of(const PlanContext& context);

} // namespace firstmow::watering
