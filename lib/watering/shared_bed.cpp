#include "watering/shared_bed.hpp"

#include <algorithm>

namespace firstmow::watering {

SharedBed::SharedBed(const PlanContext& context, const Evenings& evenings,
                     const ZoneTask& zone_task, std::size_t index)
    : task(zone_task),
      zone(index),
      flow_l_per_min(zone_task.zone->flow_l_per_min()),
      stake(at_stake(zone_task.state.progress)),
      test(planned_for(zone_task)),
      near_dry(test),
      dry(test),
      open(open_for(context, evenings, zone_task.needs.before_sunset)),
      sizer(context, task, test, open),
      earliest(may_begin(context, zone_task)) {
    dry.threshold_kpa = zone_task.needs.threshold_kpa;
    near_dry.threshold_kpa = (test.threshold_kpa + dry.threshold_kpa) / 2;
    const WallTime known_to = context.hours.back().start + Seconds{3600};
    opening = hours_to = opens_again = day_to = known_to;
    auto day = std::find_if(open.begin(), open.end(),
                            [&](const Span& span) { return context.now < span.to; });
    if (day == open.end() || day->to >= known_to) return;
    opening = day->from;
    hours_to = day->to;
    earliest = std::max(earliest, opening);
    day_to = std::min(sizer.night_until(hours_to), known_to);
    opens_again = ++day == open.end() ? day_to : std::min(day->from, day_to);
}

void SharedBed::look_closer(WallTime now) {
    full_s = sizer.full_when_dry_s(hours_to);
    longest_s = sizer.split(sizer.at(now), task.zone->longest_run_s).first_s;
}

double cost_of_drying(const SharedBed& bed, const Outlook& now) {
    if (!is_dry(now, bed.near_dry)) return 0;
    if (now.at <= bed.opens_again && is_dry(now, bed.dry)) return weight(bed.stake);
    constexpr double kNearly = 0.1;
    constexpr double kNearlyDead = 0.3;
    return weight(bed.stake) * (bed.stake == AtStake::stand ? kNearlyDead : kNearly);
}

} // namespace firstmow::watering
