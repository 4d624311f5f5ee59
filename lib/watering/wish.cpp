#include "watering/wish.hpp"

#include "base/check.hpp"
#include "watering/placing.hpp"
#include "watering/shortfall.hpp"
#include "watering/sizer.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

constexpr Seconds kHorizon{36 * 3600};
// A run may have to last until the tap opens again after the horizon.
constexpr Seconds kBeyondHorizon{48 * 3600};
// The column errs, and where it dries slowly an hour is little water: a seed zone is planned for as
// if it had to hold this much more than at its threshold (volume fraction; 0.015 mm of 10 mm). In
// water and not in kPa, because between two potentials a sand holds next to nothing; and not in
// time, because where it dries fast that costs most and helps least.
constexpr double kModelWater = 0.0015;
constexpr double kNotableRainMm = 0.5;
// After water has come it sinks to the roots' lower part for so long before they are judged again
// (default): they are not yet in want, and more on top of it would run past them.
constexpr Seconds kSinking{3 * 3600};

void note_rain(ZonePlan& plan, Hours hours, WallTime now, double rain_from) {
    for (const HourDemand& hour : hours) {
        if (hour.start + Seconds{3600} <= now) continue;
        const double counted = counted_rain_mm_per_h(hour, rain_from);
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

// What the roots have used when the run is due. `future` stands where they count as dry.
void note_used(ZonePlan& plan, const PlanContext& context, const ZoneTask& task,
               const Outlook& future, const DryTest& test) {
    Outlook then = future;
    if (plan.reason != Reason::root_zone_used) { // due sooner, for another reason
        then = from_now(context, task, test);
        pass(then, context.hours, *plan.dry_at, false);
    }
    plan.depletion = used_share(then, test);
    plan.book = book_share(then, test);
}

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

// What of a run that was split the bed still takes when it can go on: rain may have given it since.
int still_owed_s(const Wish& w, const Sizer& sizer, const ZoneTask& task, WallTime earliest) {
    if (task.owed_s <= 0) return 0;
    const auto start = earliest_start(w.open, earliest, task.zone->shortest_run_s);
    if (!start) return task.owed_s;
    const int wanted = std::min(task.owed_s, sizer.filling_s(*start));
    return wanted < task.zone->shortest_run_s ? 0 : wanted;
}

// Whether the bed would be dry for so much of the night, and not only just, before it is watered.
// In a sand few hours of a dry wind lie between damp and parched, and a night's air is known badly:
// with three times and twice the threshold in its place a sand in Colorado (bench, no forecast) was
// drier than -500 kPa for 1.3 and 1.7 h of one of 14 nights, not the same one; with 1.2 for 0.9 h
// at most, and two more evenings were damp. Sod is grass that would be wet all night, and has water
// of its own.
constexpr double kMoreThanJust = 1.2;
constexpr Seconds kDryNight{3600};

bool dry_overnight(const PlanContext& context, const ZoneTask& task, const DryTest& test,
                   WallTime start) {
    if (task.state.progress.method == turf::Method::sod) return false;
    Outlook bed = from_now(context, task, test);
    DryTest dry = test;
    dry.threshold_kpa = kMoreThanJust * task.needs.threshold_kpa;
    const WallTime until = start - kDryNight;
    return bed.at < until && first_dry(bed, context.hours, until, dry).has_value();
}

// Whether more than a few minutes of the time between lie by daylight, to the hour.
bool by_day(Hours hours, WallTime from, WallTime to) {
    constexpr Seconds kFew{600};
    Seconds sum{0};
    for (const HourDemand& hour : hours)
        if (hour.daylight)
            sum += std::max(std::min(hour.start + Seconds{3600}, to) - std::max(hour.start, from),
                            WallTime::duration{0});
    return sum > kFew;
}

// Whether a seedbed that is watered only then is watered up to sunset before: a damp evening costs
// less than soil that is dry in the sun until the next morning, or for much of the night.
bool worth_an_evening(const PlanContext& context, const ZoneTask& task, const DryTest& test,
                      const ZonePlan& plan) {
    if (!plan.late || !plan.start || test.layer == DryTest::Layer::root_zone) return false;
    if (plan.reason == Reason::longest_gap) return false; // it is not dry
    return by_day(context.hours, *plan.dry_at, *plan.start) ||
           dry_overnight(context, task, test, *plan.start);
}

// Whether the garden's limits of cold and wind let a run be: of a run, cold counts over all of it,
// wind at its beginning.
std::optional<Reason> unfit(const garden::Interlocks& limits, Hours hours, WallTime start,
                            int run_s) {
    const HourDemand& first = hour_of(hours, start);
    if (first.air_temp_c <= limits.frost_c ||
        hour_of(hours, start + Seconds{run_s}).air_temp_c <= limits.frost_c)
        return Reason::frost;
    if (limits.wind_m_s && first.wind_2m_m_s > *limits.wind_m_s) return Reason::wind;
    return std::nullopt;
}

void avoid_unfit_hours(Wish& w, const garden::Interlocks& limits, Hours hours) {
    ZonePlan& plan = w.plan;
    if (!plan.start) return;
    const auto first = unfit(limits, hours, *plan.start, plan.run_s);
    if (!first) return;
    for (const HourDemand& hour : hours) {
        if (hour.start < *plan.start) continue;
        const auto start = earliest_start(w.open, hour.start, plan.run_s);
        if (start && !unfit(limits, hours, *start, plan.run_s)) {
            plan.start = start;
            plan.late = plan.dry_at && *start > *plan.dry_at;
            return;
        }
    }
    plan.verdict = ZonePlan::Verdict::withhold;
    plan.reason = *first;
    plan.start.reset();
}

// An interlock that forbids any run as far as is known, or that made this one late.
void heed_bar(Wish& w, const ZoneTask& task) {
    ZonePlan& plan = w.plan;
    if (!task.bar || plan.verdict != ZonePlan::Verdict::run) return;
    if (task.bar->until) {
        if (plan.late) plan.bar = task.bar;
        return;
    }
    plan.bar = task.bar;
    plan.verdict = ZonePlan::Verdict::withhold;
    plan.reason = task.bar->reason;
    plan.start.reset();
}

} // namespace

Evenings evenings_of(const PlanContext& context) {
    return Evenings(context.garden->site.place, *context.timezone, context.now,
                    context.now + kHorizon + kBeyondHorizon);
}

std::optional<WallTime> sinks_until(std::optional<WallTime> last_wetted, WallTime now) {
    if (!last_wetted || *last_wetted + kSinking <= now) return std::nullopt;
    return *last_wetted + kSinking;
}

void give(Wish& w, const PlanContext& context, const ZoneTask& task, const PlannedRun& run) {
    ZonePlan& plan = w.plan;
    if (plan.verdict != ZonePlan::Verdict::run) return;
    plan.ahead = run.ahead;
    plan.start = run.start;
    plan.run_s = run.run_s;
    plan.owed_s = 0;
    plan.late = plan.dry_at && run.start > *plan.dry_at;
    avoid_unfit_hours(w, context.garden->interlocks, context.hours);
    heed_bar(w, task);
}

Wish wish(const PlanContext& context, const ZoneTask& task) {
    return wish(context, evenings_of(context), task);
}

WallTime may_begin(const PlanContext& context, const ZoneTask& task) {
    WallTime earliest = std::max(context.now, task.not_before);
    if (task.open_until) earliest = std::max(earliest, *task.open_until);
    if (task.hold_until) earliest = std::max(earliest, *task.hold_until);
    if (task.bar && task.bar->until) earliest = std::max(earliest, *task.bar->until);
    return earliest;
}

DryTest planned_for(const ZoneTask& task) {
    DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
    if (test.layer == DryTest::Layer::seed_zone)
        test.threshold_kpa =
            soil::kpa_with_more(task.spec->column, test.depth_mm, test.threshold_kpa, kModelWater);
    const Prudence prudence = prudence_of(at_stake(task.state.progress));
    test.rain_from = prudence.rain_from;
    test.caution = prudence.caution;
    return test;
}

std::vector<Span> open_for(const PlanContext& context, const Evenings& evenings,
                           Seconds before_sunset) {
    return open_spans(context.garden->supply, *context.timezone, evenings, before_sunset,
                      context.now, context.now + kHorizon + kBeyondHorizon);
}

std::vector<Span> until_sunset(const PlanContext& context, const Evenings& evenings) {
    return open_for(context, evenings, Seconds{1});
}

Wish wish(const PlanContext& context, const Evenings& evenings, const ZoneTask& task,
          std::optional<WallTime> closing, Lengths lengths) {
    CHECK(!context.hours.empty() && context.hours.front().start <= context.now);
    Wish w;
    w.flow_l_per_min = task.zone->flow_l_per_min();
    ZonePlan& plan = w.plan;
    const WallTime until = context.now + kHorizon;
    plan.looked_until = std::min(until, context.hours.back().start + Seconds{3600});
    plan.depletion = task.needs.allowed_depletion;
    const DryTest test = planned_for(task);
    note_rain(plan, context.hours, context.now, test.rain_from);
    if (!task.under_way) {
        plan.reason = Reason::not_started;
        return w;
    }
    w.open = open_for(context, evenings, task.needs.before_sunset);
    // As its own hours are, where others need the tap at their end; a run may still outlast them.
    std::vector<Span> hours = w.open;
    if (closing)
        for (Span& span : hours)
            if (span.from < *closing && *closing < span.to) span.to = *closing;
    plan.threshold_kpa = test.threshold_kpa;
    const Sizer sizer(context, task, test, hours, lengths);

    const WallTime earliest = may_begin(context, task);
    // What was begun in a seedbed is ended before the night that it is to last.
    const std::vector<Span> usual_open = w.open;
    if (task.owed_s > 0 && test.layer != DryTest::Layer::root_zone)
        w.open = until_sunset(context, evenings);
    const int owed_s = still_owed_s(w, sizer, task, earliest);
    if (owed_s > 0) {
        plan.reason = Reason::rest_of_run;
        if (const auto start = earliest_start(w.open, earliest, task.zone->shortest_run_s)) {
            const Size size = sizer.split(sizer.at(*start), owed_s);
            plan.verdict = ZonePlan::Verdict::run;
            plan.start = start;
            plan.run_s = within_hours(w.open, *start, size.first_s);
            plan.owed_s = std::max(size.total_s - plan.run_s, 0);
            avoid_unfit_hours(w, context.garden->interlocks, context.hours);
            heed_bar(w, task);
        }
        return w;
    }

    w.open = usual_open;
    Outlook future = from_now(context, task, test);
    const bool root_zone = test.layer == DryTest::Layer::root_zone;
    if (const auto sunk = sinks_until(task.last_wetted, future.at); root_zone && sunk) {
        if (is_dry(future, test)) plan.sinks_until = sunk;
        pass(future, context.hours, std::min(*sunk, plan.looked_until), false);
    }
    plan.dry_at = first_dry(future, context.hours, plan.looked_until, test);
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
    if (root_zone && plan.dry_at) note_used(plan, context, task, future, test);
    if (!plan.dry_at) {
        plan.reason = plan.rain_at ? Reason::rain_expected : Reason::damp_enough;
        return w;
    }
    place(w, hours, sizer, *plan.dry_at, earliest, deep ? Fill::deep : Fill::damp, task);
    if (worth_an_evening(context, task, test, plan))
        try_until_sunset(w, hours, context, evenings, task, sizer, earliest, deep);
    if (plan.reason != Reason::outside_hours)
        avoid_unfit_hours(w, context.garden->interlocks, context.hours);
    heed_bar(w, task);
    if (task.hold_until && *task.hold_until > *plan.dry_at) {
        // A person's word: it will be dry, and the plan after the hold stands beside it.
        plan.reason = Reason::on_hold;
        plan.verdict = ZonePlan::Verdict::withhold;
    }
    return w;
}

} // namespace firstmow::watering
