// A seedbed on the shared tap, for whoever looks at a day as a whole. Inside of the room.
#pragma once

#include "watering/shortfall.hpp"
#include "watering/sizer.hpp"
#include "watering/wish.hpp"

namespace firstmow::watering {

// Refers to itself: it stays where it was made.
struct SharedBed {
    SharedBed(const PlanContext& context, const Evenings& evenings, const ZoneTask& zone_task,
              std::size_t index);
    SharedBed(const SharedBed&) = delete;
    SharedBed& operator=(const SharedBed&) = delete;

    const ZoneTask& task;
    std::size_t zone; // its place among the tasks
    double flow_l_per_min;
    AtStake stake;
    DryTest test;     // when it is dry to the planner, cautious as it is
    DryTest near_dry; // halfway from there to its need
    DryTest dry;      // by its need
    std::vector<Span> open;
    Sizer sizer;
    WallTime earliest; // when it may have its next run, from
    // The hours of its day, those that are open or open next; none within what is known: both at
    // the end of that.
    WallTime opening;
    WallTime hours_to;
    WallTime opens_again; // after them
    WallTime day_to;      // when a day that is lived through ends: a little later
    int longest_s = 0;    // of a run, what the bed takes in one go
    int full_s = 0;       // of one that fills it when it is dry; 0: see look_closer()
    // Takes a while: for beds whose day is looked at.
    void look_closer(WallTime now);
};

// What a minute by day costs in a day that is lived through, by the model: in full where the bed is
// dry, a little where it is nearly so, for the model errs, and where it can be watered again.
double cost_of_drying(const SharedBed& bed, const Outlook& now);

// A bed's last run of the day, with which it lasts until the next: it ends there and takes so long.
struct LastRun {
    WallTime end;
    int run_s = 0; // 0: it lasts without
};

} // namespace firstmow::watering
