#include "watering/placing.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// A run begins this long before it is due: valves are slow, a tap may be taken.
constexpr Seconds kLead{300};
// And ends so long before the hours do, or as near to that as can be: the tap that another zone
// leaves a second late must not put it off until the next day.
constexpr Seconds kSlip{60};

// The last moment at or before `t` at which a run of `run_s` can begin, not before `earliest`.
std::optional<WallTime> latest_start(const std::vector<Span>& open, WallTime t, WallTime earliest,
                                     int run_s) {
    for (auto span = open.rbegin(); span != open.rend(); ++span) {
        const WallTime first = std::max(span->from, earliest);
        if (first > std::min(t, span->to - Seconds{run_s})) continue;
        return std::max(first, std::min(t, span->to - kSlip - Seconds{run_s}));
    }
    return std::nullopt;
}

} // namespace

std::optional<WallTime> earliest_start(const std::vector<Span>& open, WallTime t, int run_s) {
    for (const Span& span : open) {
        const WallTime start = std::max(t, span.from);
        if (start + Seconds{run_s} <= span.to) return start;
    }
    for (const Span& span : open)
        if (std::max(t, span.from) < span.to) return std::max(t, span.from);
    return std::nullopt;
}

int within_hours(const std::vector<Span>& open, WallTime start, int run_s) {
    const Span* span = span_at(open, start);
    return span == nullptr ? run_s : std::min(run_s, static_cast<int>((span->to - start).count()));
}

void place(Wish& w, const std::vector<Span>& hours, const Sizer& sizer, WallTime due,
           WallTime earliest, Fill fill, const ZoneTask& task) {
    ZonePlan& plan = w.plan;
    const auto size_at = [&](WallTime t) {
        return fill == Fill::deep   ? sizer.deep(t)
               : fill == Fill::last ? sizer.last(t)
                                    : sizer.damp(t);
    };
    const WallTime wanted = std::max(due - kLead, earliest);
    // First with the shortest run, then again with the run that was found to be needed there.
    auto start = latest_start(hours, wanted, earliest, task.zone->shortest_run_s);
    const bool in_good_time = start.has_value();
    if (!start) start = earliest_start(hours, earliest, task.zone->shortest_run_s);
    if (!start) {
        plan.verdict = ZonePlan::Verdict::withhold;
        plan.reason = Reason::outside_hours;
        return;
    }
    Size size = size_at(*start);
    // Again where that moved it: later, a run is shorter or longer.
    for (int tries = 0; in_good_time && tries < 2; ++tries) {
        auto again = latest_start(hours, wanted, earliest, size.first_s);
        // Too late for all of it before the tap closes: what there still is of the hours, not only
        // their last minutes.
        if (const Span* span = span_at(hours, *start); !again && span != nullptr)
            again = std::max(span->from, earliest);
        if (!again || *again == *start) break;
        start = again;
        size = size_at(*start);
    }
    size.first_s = within_hours(w.open, *start, size.first_s);
    plan.verdict = ZonePlan::Verdict::run;
    plan.start = start;
    plan.run_s = size.first_s;
    plan.left_to_rain_mm = size.left_to_rain_mm;
    plan.owed_s = std::max(size.total_s - size.first_s, 0);
    if (plan.owed_s < task.zone->shortest_run_s) plan.owed_s = 0;
    plan.late = *start > due;
}

void try_until_sunset(Wish& w, std::vector<Span>& hours, const PlanContext& context,
                      const Evenings& evenings, const ZoneTask& task, const Sizer& sizer,
                      WallTime earliest, bool deep) {
    const Wish usual = w;
    // There is no second run in the evening: by then the bed would be dry only at night.
    const Fill fill = deep ? Fill::deep : Fill::last;
    const std::vector<Span> usual_hours = hours;
    w.open = until_sunset(context, evenings);
    hours = w.open;
    place(w, hours, sizer, *usual.plan.dry_at, earliest, fill, task);
    if (w.plan.start && *w.plan.start < *usual.plan.start) {
        w.plan.else_at = usual.plan.start;
        return;
    }
    w = usual;
    hours = usual_hours;
}

} // namespace firstmow::watering
