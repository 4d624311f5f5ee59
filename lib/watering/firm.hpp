// Firm ground for a mow: the planned run that would fall into the hours before it comes sooner, or
// waits until it is done.
//
// Wheels press ruts into wet soil, feet sink into it, and wet grass tears and clumps. That young
// grass is mown on a dry surface with less water before is said everywhere (K-State, Cornell); for
// how many hours is common practice, no source:
//   twelve hours (the evening and the night before) where the roots are judged: a deep run needs
//   them to sink in, and the leaves to dry;
//   three hours where the seed zone is judged (the standing turf of an overseeding is mown while
//   seed comes up): a run of a few millimetres has drained by then, and longer no seedbed can wait.
// A seedbed is never let dry for it: if it would, it is watered, and the person is told.
#pragma once

#include "watering/planner.hpp"

namespace firstmow::watering {

inline constexpr Seconds kFirmBefore{12 * 3600};
inline constexpr Seconds kFirmBeforeDamp{3 * 3600};
inline constexpr Seconds kMowTakes{2 * 3600};

// No run from `from` to `to`: the mow is in it.
Span firm_for(const turf::Needs& needs, WallTime mow_at);

enum class ForMow : std::uint8_t {
    nothing, // the plan does not touch those hours
    sooner,  // the run was brought forward
    later,   // the run waits until the mow is done
    damp,    // the run stays: the seedbed would dry otherwise
};
struct FirmPlan {
    ZonePlan plan;
    ForMow did = ForMow::nothing;
};
// `plan` is what plan() made for the task. What a person asked for stays where it is.
FirmPlan keep_firm(const PlanContext& context, const ZoneTask& task, WallTime mow_at,
                   ZonePlan plan);

// One sentence, when keep_firm() did something.
std::string explain_mow(const FirmPlan& firm, const ZoneTask& task, WallTime mow_at,
                        const TimeZone& local, WallTime now);

} // namespace firstmow::watering
