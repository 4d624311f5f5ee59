#include "watering/wish.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::watering {

namespace {

constexpr Seconds kHorizon{36 * 3600};
// A run may have to last until the tap opens again after the horizon.
constexpr Seconds kBeyondHorizon{48 * 3600};
// A run begins this long before it is due: the model may be 20 minutes wrong.
constexpr Seconds kLead{900};
// In the damp phases a run should last at least this long, where the bed can hold it.
constexpr Seconds kSpacing{9000};
// After the night's last run the bed shall stay damp until a little after the tap may run again.
constexpr Seconds kMorningSlack{1200};
// Water beyond field capacity that a run may leave in the bed on its way down.
constexpr double kExcessMm = 1.0;
// A seed zone is planned for as if it had to hold this much more water than at its threshold
// (volume fraction; 0.06 mm of 6 mm, about five minutes of a hot noon): the forecast errs, and so
// does the model. In water and not in kPa, because between two potentials a sand holds next to
// nothing.
constexpr double kCautionWater = 0.01;
constexpr double kFrostC = 1.0;
constexpr double kNotableRainMm = 0.5;
constexpr int kRunUnitS = 60;

int whole_minutes(double seconds) {
    return static_cast<int>(std::ceil(seconds / kRunUnitS - 1e-9)) * kRunUnitS;
}

const Span* span_at(const std::vector<Span>& open, WallTime t) {
    for (const Span& span : open)
        if (span.from <= t && t < span.to) return &span;
    return nullptr;
}

// The last moment at or before `t` at which a run of `run_s` can begin, not before `earliest`.
std::optional<WallTime> latest_start(const std::vector<Span>& open, WallTime t, WallTime earliest,
                                     int run_s) {
    for (auto span = open.rbegin(); span != open.rend(); ++span) {
        const WallTime start = std::min(t, span->to - Seconds{run_s});
        if (start >= std::max(span->from, earliest)) return start;
    }
    return std::nullopt;
}

// The first moment at or after `t` at which a run can begin; a span too short for it is used
// all the same if it is the only kind there is.
std::optional<WallTime> earliest_start(const std::vector<Span>& open, WallTime t, int run_s) {
    for (const Span& span : open) {
        const WallTime start = std::max(t, span.from);
        if (start + Seconds{run_s} <= span.to) return start;
    }
    for (const Span& span : open)
        if (std::max(t, span.from) < span.to) return std::max(t, span.from);
    return std::nullopt;
}

// A run that would outlast the tap's hours is cut at their end.
int within_hours(const std::vector<Span>& open, WallTime start, int run_s) {
    const Span* span = span_at(open, start);
    return span == nullptr ? run_s : std::min(run_s, static_cast<int>((span->to - start).count()));
}

// When the tap may run again after the span that holds `t`.
std::optional<WallTime> next_opening(const std::vector<Span>& open, WallTime t) {
    for (const Span& span : open)
        if (span.from > t) return span.from;
    return std::nullopt;
}

const HourDemand& hour_of(Hours hours, WallTime t) {
    const auto index = (t - hours.front().start).count() / 3600;
    return hours[static_cast<std::size_t>(
        std::clamp<std::int64_t>(index, 0, static_cast<std::int64_t>(hours.size()) - 1))];
}

void note_rain(ZonePlan& plan, Hours hours, WallTime now) {
    for (const HourDemand& hour : hours) {
        if (hour.start + Seconds{3600} <= now) continue;
        const double counted = counted_rain_mm_per_h(hour);
        if (plan.rain_at && counted < 0.1) return; // the shower's end
        if (!plan.rain_at && counted < kNotableRainMm) continue;
        if (!plan.rain_at) plan.rain_at = std::max(hour.start, now);
        plan.rain_mm += counted;
    }
}

// The zone from now on; a valve that is open stays so until its run ends.
Outlook from_now(const PlanContext& context, const ZoneTask& task, const DryTest& test) {
    Outlook o = look(*task.spec, task.state, test, context.now);
    if (task.open_until) pass(o, context.hours, *task.open_until, true);
    return o;
}

// How long a run should be.
struct Size {
    int total_s = 0; // what the bed wants
    int first_s = 0; // what it can take in one go
};

class Sizer {
public:
    Sizer(const PlanContext& context, const ZoneTask& task, const DryTest& test,
          const std::vector<Span>& open)
        : context_(context),
          task_(task),
          test_(test),
          open_(open),
          now_(look(*task.spec, task.state, test, context.now)) {}

    // The zone as it will be at `start`, without water until then.
    Outlook at(WallTime start) const {
        Outlook o = now_;
        pass(o, context_.hours, start, false);
        return o;
    }

    Size damp(WallTime start) const {
        const Outlook before = at(start);
        const int shortest = task_.zone->shortest_run_s;
        const double most_mm = deficit_mm(before, task_.needs.wet_depth_mm) + kExcessMm;
        const int most = std::max(shortest, seconds_for(most_mm, start));
        const WallTime until = shall_last_until(start);
        int low = shortest / kRunUnitS;
        int high = std::max(low, most / kRunUnitS);
        // Longer runs last longer: bisect for the shortest that lasts.
        while (low < high) {
            const int middle = (low + high) / 2;
            if (lasts(before, middle * kRunUnitS, until))
                high = middle;
            else
                low = middle + 1;
        }
        return split(before, low * kRunUnitS);
    }

    // Refills the bed to the depth that the phase asks for.
    Size deep(WallTime start) const {
        const Outlook before = at(start);
        const double mm = deficit_mm(before, task_.needs.wet_depth_mm);
        return split(before, std::max(task_.zone->shortest_run_s, seconds_for(mm, start)));
    }

    Size split(const Outlook& before, int total_s) const {
        ZoneState state = task_.state;
        if (!test_.driest_quarter) state.mean = before.column;
        const int longest = std::max(task_.zone->shortest_run_s, task_.zone->longest_run_s);
        const int intake =
            longest_intake_s(*task_.spec, state, hour_of(context_.hours, before.at), longest);
        return {total_s, std::clamp(total_s, task_.zone->shortest_run_s,
                                    std::max(intake, task_.zone->shortest_run_s))};
    }

private:
    int seconds_for(double net_mm, WallTime start) const {
        const double rate =
            ground_rate_mm_per_h(*task_.spec, hour_of(context_.hours, start)) * now_.share;
        return whole_minutes(net_mm * 3600.0 / rate);
    }

    WallTime shall_last_until(WallTime start) const {
        const WallTime spaced = start + kSpacing;
        const Span* span = span_at(open_, start);
        if (span != nullptr && spaced + Seconds{task_.zone->shortest_run_s} <= span->to)
            return spaced;
        const auto opening = next_opening(open_, start);
        return opening ? std::max(*opening + kMorningSlack, spaced) : spaced;
    }

    bool lasts(const Outlook& before, int run_s, WallTime until) const {
        Outlook o = before;
        pass(o, context_.hours, o.at + Seconds{run_s}, true);
        const auto dry = first_dry(o, context_.hours, until, test_);
        return !dry || *dry >= until;
    }

    const PlanContext& context_;
    const ZoneTask& task_;
    const DryTest& test_;
    const std::vector<Span>& open_;
    Outlook now_;
};

// When as much has dried as in `longest_gap` of an ordinary drying day: the gap is meant for such
// days, and cool or damp ones stretch it.
WallTime dried_out(const PlanContext& context, const ZoneTask& task) {
    constexpr double kDryingDayMm = 4; // reference ET, late summer, cool-season climate (default)
    const double enough =
        kDryingDayMm * static_cast<double>(task.needs.longest_gap.count()) / 86400.0;
    double dried = task.dried_mm;
    WallTime at = context.now;
    for (const HourDemand& hour : context.hours) {
        if (dried >= enough) return at;
        dried = std::max(dried + zone_et_mm_per_h(hour, &task.spec->exposure) -
                             counted_rain_mm_per_h(hour),
                         0.0);
        at = std::max(hour.start + Seconds{3600}, context.now);
    }
    return dried >= enough ? at : WallTime::max();
}

// A run that is due at `due` placed at the latest good moment, sized for it.
void place(Wish& w, const Sizer& sizer, WallTime due, WallTime earliest, bool deep,
           const ZoneTask& task) {
    ZonePlan& plan = w.plan;
    const auto size_at = [&](WallTime t) { return deep ? sizer.deep(t) : sizer.damp(t); };
    const WallTime wanted = std::max(due - kLead, earliest);
    // First with the shortest run, then again with the run that was found to be needed there.
    auto start = latest_start(w.open, wanted, earliest, task.zone->shortest_run_s);
    const bool in_good_time = start.has_value();
    if (!start) start = earliest_start(w.open, earliest, task.zone->shortest_run_s);
    if (!start) {
        plan.verdict = ZonePlan::Verdict::withhold;
        plan.reason = Reason::outside_hours;
        return;
    }
    Size size = size_at(*start);
    if (in_good_time) {
        if (const auto again = latest_start(w.open, wanted, earliest, size.first_s);
            again && *again != *start) {
            start = again;
            size = size_at(*start);
        }
    }
    size.first_s = within_hours(w.open, *start, size.first_s);
    plan.verdict = ZonePlan::Verdict::run;
    plan.start = start;
    plan.run_s = size.first_s;
    plan.owed_s = std::max(size.total_s - size.first_s, 0);
    if (plan.owed_s < task.zone->shortest_run_s) plan.owed_s = 0;
    plan.late = *start > due;
}

void avoid_frost(Wish& w, Hours hours) {
    ZonePlan& plan = w.plan;
    if (!plan.start || hour_of(hours, *plan.start).air_temp_c > kFrostC) return;
    for (const HourDemand& hour : hours) {
        if (hour.start < *plan.start || hour.air_temp_c <= kFrostC) continue;
        const auto start = earliest_start(w.open, hour.start, plan.run_s);
        if (start && hour_of(hours, *start).air_temp_c > kFrostC) {
            plan.start = start;
            plan.late = plan.dry_at && *start > *plan.dry_at;
            return;
        }
    }
    plan.verdict = ZonePlan::Verdict::withhold;
    plan.reason = Reason::frost;
    plan.start.reset();
}

} // namespace

Evenings evenings_of(const PlanContext& context) {
    return Evenings(context.garden->site.place, *context.timezone, context.now,
                    context.now + kHorizon + kBeyondHorizon);
}

Wish wish(const PlanContext& context, const ZoneTask& task) {
    return wish(context, evenings_of(context), task);
}

Wish wish(const PlanContext& context, const Evenings& evenings, const ZoneTask& task) {
    CHECK(!context.hours.empty() && context.hours.front().start <= context.now);
    Wish w;
    w.flow_l_per_min = task.zone->flow_l_per_min();
    ZonePlan& plan = w.plan;
    const WallTime until = context.now + kHorizon;
    plan.looked_until = std::min(until, context.hours.back().start + Seconds{3600});
    plan.depletion = task.needs.allowed_depletion;
    note_rain(plan, context.hours, context.now);
    if (!task.under_way) {
        plan.reason = Reason::not_started;
        return w;
    }
    w.open = open_spans(context.garden->supply, *context.timezone, evenings,
                        task.needs.before_sunset, context.now, until + kBeyondHorizon);
    DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
    if (test.layer == DryTest::Layer::seed_zone)
        test.threshold_kpa = soil::kpa_with_more(task.spec->column, test.depth_mm,
                                                 test.threshold_kpa, kCautionWater);
    plan.threshold_kpa = test.threshold_kpa;
    const Sizer sizer(context, task, test, w.open);

    WallTime earliest = std::max(context.now, task.not_before);
    if (task.open_until) earliest = std::max(earliest, *task.open_until);
    if (task.hold_until) earliest = std::max(earliest, *task.hold_until);

    if (task.owed_s > 0) {
        plan.reason = Reason::rest_of_run;
        if (const auto start = earliest_start(w.open, earliest, task.zone->shortest_run_s)) {
            const Size size = sizer.split(sizer.at(*start), task.owed_s);
            plan.verdict = ZonePlan::Verdict::run;
            plan.start = start;
            plan.run_s = within_hours(w.open, *start, size.first_s);
            plan.owed_s = std::max(size.total_s - plan.run_s, 0);
            avoid_frost(w, context.hours);
        }
        return w;
    }

    Outlook future = from_now(context, task, test);
    plan.dry_at = first_dry(future, context.hours, plan.looked_until, test);
    const bool root_zone = test.layer == DryTest::Layer::root_zone;
    plan.reason = root_zone ? Reason::root_zone_used : Reason::seed_zone_drying;
    bool deep = root_zone;
    if (!task.soaked) {
        plan.dry_at = context.now;
        plan.reason = Reason::first_soak;
        deep = true;
    } else if (task.reported_dry) {
        plan.dry_at = context.now;
        plan.reason = Reason::reported_dry;
    } else if (task.needs.longest_gap.count() > 0 && task.last_wetted) {
        const WallTime due = std::max(
            {*task.last_wetted + task.needs.longest_gap, dried_out(context, task), context.now});
        if (due < plan.looked_until && (!plan.dry_at || due < *plan.dry_at)) {
            plan.dry_at = due;
            plan.reason = Reason::longest_gap;
            deep = true;
        }
    }
    if (!plan.dry_at) {
        plan.reason = plan.rain_at ? Reason::rain_expected : Reason::damp_enough;
        return w;
    }
    place(w, sizer, *plan.dry_at, earliest, deep, task);
    if (plan.reason != Reason::outside_hours) avoid_frost(w, context.hours);
    if (task.hold_until && *task.hold_until > *plan.dry_at) {
        // A person's word: it will be dry, and the plan after the hold stands beside it.
        plan.reason = Reason::on_hold;
        plan.verdict = ZonePlan::Verdict::withhold;
    }
    return w;
}

} // namespace firstmow::watering
