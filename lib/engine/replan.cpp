// What next: the planner's answers become decisions, and those that are due become open valves.
#include "engine/parts.hpp"

#include "watering/explain.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

constexpr Seconds kLookAhead{40 * 3600};
// Between the parts of a run that was split, and between any two runs of a zone.
constexpr Seconds kSoak{1800};
// A plan that moved by less than this is the same plan to a person.
constexpr Seconds kSamePlan{600};
constexpr int kSameRunS = 120;
constexpr Seconds kWarnEvery{6 * 3600};

using watering::Reason;
using watering::ZonePlan;
using watering::ZoneTask;

ZoneTask task_of(const Work& work, std::size_t i, watering::Hours hours,
                 const watering::ZoneSpec& spec) {
    const ZoneRuntime& z = work.state.zones[i];
    ZoneTask t;
    t.zone = &work.setup.garden.zones[i];
    t.spec = &spec;
    t.state = zone_now(work.setup, work.state, i, hours, work.now.wall);
    t.needs = turf::needs(t.state.progress, work.now.wall);
    t.under_way = turf::under_way(t.state.progress, work.now.wall);
    if (z.open) {
        const auto left = z.open->mono_start + Seconds{z.open->planned_s} - work.now.mono;
        t.open_until = work.now.wall + std::max(std::chrono::ceil<Seconds>(left), Seconds{1});
    }
    if (z.hold_until && *z.hold_until > work.now.wall) t.hold_until = z.hold_until;
    t.last_wetted = z.last_wetted;
    t.dried_mm = z.dried_mm;
    t.soaked = z.soaked;
    t.reported_dry = z.reported_dry;
    t.owed_s = z.owed_s;
    t.not_before = z.not_before;
    return t;
}

Verdict verdict_of(const ZonePlan& plan, WallTime now) {
    switch (plan.verdict) {
    case ZonePlan::Verdict::run:
        return *plan.start <= now ? Verdict::run : Verdict::plan;
    case ZonePlan::Verdict::wait:
        return Verdict::wait;
    case ZonePlan::Verdict::withhold:
        break;
    }
    return Verdict::withhold;
}

bool is_news(const ZoneRuntime& z, Verdict verdict, const ZonePlan& plan) {
    if (verdict == Verdict::run || verdict != z.verdict) return true;
    if (z.next_reason != watering::key(plan.reason)) return true;
    if (plan.start.has_value() != z.next_start.has_value()) return true;
    if (!plan.start) return false;
    const Seconds moved =
        *plan.start > *z.next_start ? *plan.start - *z.next_start : *z.next_start - *plan.start;
    return moved >= kSamePlan || std::abs(plan.run_s - z.next_run_s) >= kSameRunS;
}

void warn_when_late(Work& work, std::size_t i, const ZonePlan& plan) {
    ZoneRuntime& z = work.state.zones[i];
    const bool dries = plan.late || plan.reason == Reason::outside_hours ||
                       plan.reason == Reason::tap_busy || plan.reason == Reason::frost;
    const bool first = plan.reason == Reason::first_soak || plan.reason == Reason::rest_of_run;
    if (!dries || first || !plan.dry_at) return;
    if (z.warned_dry && work.now.wall - *z.warned_dry < kWarnEvery) return;
    z.warned_dry = work.now.wall;
    const std::string until =
        plan.start
            ? " until " + watering::clock_words(*plan.start, work.setup.timezone, work.now.wall)
            : "";
    work.notify(work.setup.garden.zones[i].id, Severity::warning, "will_be_dry",
                work.setup.garden.zones[i].name + " is expected to be too dry from " +
                    watering::clock_words(*plan.dry_at, work.setup.timezone, work.now.wall) +
                    until + ": the hours, the tap, the cold or a rest do not allow water sooner.");
}

void start_run(Work& work, std::size_t i, int run_s, int owed_s, Reason reason) {
    ZoneRuntime& z = work.state.zones[i];
    z.owed_s = owed_s;
    if (reason != Reason::person) z.soaked = true; // a person's minute does not wet it through
    z.not_before =
        std::max(z.not_before, work.now.wall + Seconds{run_s} + (owed_s > 0 ? kSoak : kPlanEvery));
    open_valve(work, i, run_s, std::string(watering::key(reason)));
}

// People's orders come before the plan; they wait only for the tap.
void start_orders(Work& work) {
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        ZoneRuntime& z = work.state.zones[i];
        if (z.ordered_s == 0 || z.open) continue;
        if (work.now.wall >= z.ordered_until) {
            z.ordered_s = 0;
            work.notify(work.setup.garden.zones[i].id, Severity::warning, "order_dropped",
                        "The order to water " + work.setup.garden.zones[i].name +
                            " waited too long for the tap and was dropped.");
            continue;
        }
        const double flow = open_flow_l_per_min(work.setup, work.state) +
                            work.setup.garden.zones[i].flow_l_per_min();
        if (flow > work.setup.garden.supply.flow_l_per_min + 1e-9) continue;
        const int run_s = z.ordered_s;
        z.ordered_s = 0;
        start_run(work, i, run_s, 0, Reason::person);
        Decision d{work.now.wall,
                   work.setup.garden.zones[i].id,
                   Verdict::run,
                   work.now.wall,
                   run_s,
                   std::string(watering::key(Reason::person)),
                   ""};
        d.explanation = "Runs " + watering::duration_words(run_s) + " now: a person ordered it.";
        z.verdict = Verdict::run;
        z.next_reason = d.reason;
        z.explanation = d.explanation;
        work.record(std::move(d));
    }
}

void decide(Work& work, std::size_t i, const ZonePlan& plan, const ZoneTask& task) {
    ZoneRuntime& z = work.state.zones[i];
    const Verdict verdict = verdict_of(plan, work.now.wall);
    warn_when_late(work, i, plan);
    if (is_news(z, verdict, plan)) {
        z.explanation = watering::explain(plan, task, work.setup.timezone, work.now.wall);
        work.record(Decision{work.now.wall, task.zone->id, verdict, plan.start, plan.run_s,
                             std::string(watering::key(plan.reason)), z.explanation});
        z.verdict = verdict;
        z.next_reason = watering::key(plan.reason);
        z.next_start = plan.start;
        z.next_run_s = plan.run_s;
    }
    // What is due is what was just planned; what people are shown moves only with news.
    if (verdict == Verdict::run) {
        z.next_start.reset();
        start_run(work, i, plan.run_s, plan.owed_s, plan.reason);
    }
}

} // namespace

WallTime next_plan_after(WallTime t) {
    const auto since = t.time_since_epoch().count();
    const auto every = kPlanEvery.count();
    return WallTime{Seconds{(since / every + 1) * every}};
}

void replan(Work& work) {
    if (!work.state.begun) return;
    work.state.next_plan = next_plan_after(work.now.wall);
    start_orders(work);
    const auto all = hours_ahead(work.setup, work.state, work.now.wall, kLookAhead);
    // The planner looks from the hour of now; the budget may end some hours before it.
    const auto skip =
        static_cast<std::size_t>((floor_hour(work.now.wall) - all.front().start).count() / 3600);
    const watering::Hours ahead = watering::Hours(all).subspan(skip);

    std::vector<watering::ZoneSpec> specs; // outlives the tasks
    for (std::size_t i = 0; i < work.zone_count(); ++i)
        specs.push_back(own_spec(work.setup, work.state, i));
    std::vector<ZoneTask> tasks;
    for (std::size_t i = 0; i < work.zone_count(); ++i)
        tasks.push_back(task_of(work, i, all, specs[i]));
    const watering::PlanContext context{work.now.wall, ahead, &work.setup.garden,
                                        &work.setup.timezone};
    const std::vector<ZonePlan> plans = watering::plan(context, tasks);
    for (std::size_t i = 0; i < plans.size(); ++i) {
        if (work.state.zones[i].open) continue; // planned again when it closes
        decide(work, i, plans[i], tasks[i]);
        // Wake for a start that lies before the next regular planning.
        if (plans[i].verdict == ZonePlan::Verdict::run && *plans[i].start > work.now.wall)
            work.state.next_plan = std::min(work.state.next_plan, *plans[i].start);
    }
}

} // namespace firstmow::engine
