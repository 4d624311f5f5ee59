// A seedbed on the shared tap, for whoever looks at a day as a whole. Inside of the room.
#pragma once

#include "watering/shortfall.hpp"
#include "watering/sizer.hpp"
#include "watering/wish.hpp"

namespace firstmow::watering {

// Refers to itself: it stays where it was made.
struct SharedBed {
    SharedBed(const PlanContext& context, const Evenings& evenings, const ZoneTask& zone_task,
              std::size_t index)
        : task(zone_task),
          zone(index),
          flow_l_per_min(zone_task.zone->flow_l_per_min()),
          stake(at_stake(zone_task.state.progress)),
          test(planned_for(zone_task)),
          judged(test),
          open(open_for(context, evenings, zone_task.needs.before_sunset)),
          sizer(context, task, test, open) {
        judged.threshold_kpa = (test.threshold_kpa + zone_task.needs.threshold_kpa) / 2;
    }
    SharedBed(const SharedBed&) = delete;
    SharedBed& operator=(const SharedBed&) = delete;

    const ZoneTask& task;
    std::size_t zone; // its place among the tasks
    double flow_l_per_min;
    AtStake stake;
    DryTest test;   // when it is dry to the planner, cautious as it is
    DryTest judged; // when it counts as dry in a day that is lived through: halfway to the need
    std::vector<Span> open;
    Sizer sizer;
    // Of its day:
    WallTime earliest; // when it may have its next run, from
    WallTime opening;  // of the hours
    WallTime hours_to; // and their end
    int longest_s = 0; // of a run, what the bed takes in one go
    int full_s = 0;    // of one that fills it when it is dry
};

// A bed's last run of the day, with which it lasts until the next: it ends there and takes so long.
struct LastRun {
    WallTime end;
    int run_s = 0; // 0: it lasts without
};

} // namespace firstmow::watering
