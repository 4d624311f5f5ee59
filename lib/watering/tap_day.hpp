// What a day asks of the shared tap, looked at as a whole. Inside of the room.
//
// A plan looks at one run of each zone. That each bed also wants a last run that makes it last the
// night, and that all want theirs at the same time, it would see when it is too late. So the last
// runs are laid into the tap first, backwards from the end of the hours, and each zone's hours end
// where its own last run does.
//
// Where beds want much of the tap's time, the rest of the day is lived through in the model
// (rollout.hpp). If a bed is dry by day in it, better ways to share the tap are looked for: for few
// beds by a search over slots of time (slot_day.hpp), for more by living through some other ways
// as well; and the next run of each bed is taken from the day that goes best (a rollout: Bertsekas,
// Tsitsiklis and Wu 1997). No guarantee comes with it: the day is lived in coarser steps and with
// simpler lengths than the planner's own.
#pragma once

#include "watering/wish.hpp"

namespace firstmow::watering {

struct TapDay {
    // One per task, in their order: the end of its own hours; none where it may have its water
    // until the tap's hours end.
    std::vector<std::optional<WallTime>> closings;
    // Where the tap does not suffice as it is usually shared, each bed's next run.
    std::vector<std::optional<PlannedRun>> runs;
    bool crowded = false; // then `runs` hold: while all are in time without them, in idle hours
    bool binding = false; // then they do whatever else is wished
};
TapDay tap_day(const PlanContext& context, const Evenings& evenings,
               std::span<const ZoneTask> tasks);

} // namespace firstmow::watering
