// The rest of a day on a busy tap, in slots of time: which bed has the tap in which.
// Inside of the room.
//
// A beam search forwards over the slots. What becomes of a bed depends on its own slots only, so
// each bed's days are a tree that is grown where it is looked at, and a sharing of the slots is one
// leaf of each tree. Of all sharings up to a slot those go on that cost least so far, counting
// what their beds lack; only a few of each kind (how many slots each bed had), for it takes both a
// bed that is let dry now and one that is let dry later to find out which costs less. Good, not
// proven best: a search of the whole tree is the test's (exact_day.hpp).
#pragma once

#include "watering/shared_bed.hpp"

#include <deque>
#include <vector>

namespace firstmow::watering {

struct SlotDay {
    double cost_min = 0; // as LivedDay's (rollout.hpp)
    Seconds open{0};     // the tap, for all beds together
    std::vector<std::optional<PlannedRun>> next;
};

// For so many beds: of more there are too many sharings to look at enough of them.
inline constexpr std::size_t kMostSlotBeds = 8;

// Of 1 to kMostSlotBeds beds. A run may wet deeper than a bed is wetted where the tap is its own:
// what lies deeper feeds the seed zone later, when others have the tap.
SlotDay slot_day(const PlanContext& context, std::span<const ZoneTask> tasks,
                 const std::deque<SharedBed>& beds);

} // namespace firstmow::watering
