// The rest of a day on a busy tap, lived through in the model. Inside of the room.
#pragma once

#include "watering/shared_bed.hpp"
#include "watering/tap_day.hpp"

#include <deque>

namespace firstmow::watering {

// How the tap is shared. Every bed has its last run at its place at the end of the hours; before
// that each gets water when it is dry, or, where the tap is free, as soon as it lacks a share of
// what it lacks when it is dry.
struct Way {
    static constexpr Seconds kWholeDay{86400};
    std::optional<double> ahead_from;
    Seconds ahead_span{kWholeDay}; // only so long before the end of the hours
    double run_share = 0.5;        // of the run that fills it
    // Who goes first: the driest, or always the same one, where there is not enough for all.
    enum class First : std::uint8_t { driest, first_bed };
    First first = First::driest;
    bool dearest_first = false; // those before all others that drying costs most
};

struct LivedDay {
    // Minutes that beds are dry by day until the tap opens again, each times what drying costs it
    // (shared_bed.hpp: cost_of_drying).
    double cost_min = 0;
    Seconds open{0};                             // the tap, for all beds together
    std::vector<std::optional<PlannedRun>> next; // of each bed
    std::vector<Outlook> before_last;            // each bed when its last run was to begin
};
// `last`: one for each bed.
LivedDay live_day(const PlanContext& context, std::span<const ZoneTask> tasks,
                  const std::deque<SharedBed>& beds, const std::vector<LastRun>& last,
                  const Way& way);

} // namespace firstmow::watering
