#include "watering/planner.hpp"

#include "base/check.hpp"
#include "watering/shortfall.hpp"
#include "watering/sizer.hpp"
#include "watering/tap.hpp"
#include "watering/tap_day.hpp"
#include "watering/wish.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <tuple>

namespace firstmow::watering {

std::string_view key(Reason reason) {
    switch (reason) {
    case Reason::seed_zone_drying:
        return "seed_zone_drying";
    case Reason::root_zone_used:
        return "root_zone_used";
    case Reason::longest_gap:
        return "longest_gap";
    case Reason::reported_dry:
        return "reported_dry";
    case Reason::first_soak:
        return "first_soak";
    case Reason::rest_of_run:
        return "rest_of_run";
    case Reason::person:
        return "person";
    case Reason::damp_enough:
        return "damp_enough";
    case Reason::rain_expected:
        return "rain_expected";
    case Reason::not_started:
        return "not_started";
    case Reason::on_hold:
        return "on_hold";
    case Reason::outside_hours:
        return "outside_hours";
    case Reason::tap_busy:
        return "tap_busy";
    case Reason::frost:
        return "frost";
    case Reason::emergency_stop:
        return "emergency_stop";
    case Reason::clock_untrusted:
        return "clock_untrusted";
    case Reason::locked:
        return "locked";
    case Reason::supply_fault:
        return "supply_fault";
    case Reason::wind:
        return "wind";
    case Reason::rain_switch:
        return "rain_switch";
    case Reason::longest_run:
        return "longest_run";
    case Reason::day_full:
        return "day_full";
    case Reason::zone_rest:
        return "zone_rest";
    case Reason::zones_at_once:
        return "zones_at_once";
    case Reason::pump_rest:
        return "pump_rest";
    }
    return "";
}

namespace {

// How wishes are laid into the tap: as late as others leave room, one after the other from the
// earliest moment on, or each when it is wished, for as long as there is room.
enum class Packing : std::uint8_t { late, soon, cut };

// The longest run at `start`, in whole minutes and not above `run_s`, for which there is room; 0
// for none.
int fitting_s(const Tap& tap, WallTime start, int run_s, double flow_l_per_min) {
    for (; run_s > 0; run_s -= std::min(run_s, kRunUnitS))
        if (tap.has_room(start, start + Seconds{run_s}, flow_l_per_min)) return run_s;
    return 0;
}

// Lays one wish into the tap, moved earlier where others have it, later where nothing else is left.
void lay(Tap& tap, const Wish& w, ZonePlan& plan, const PlanContext& context, const ZoneTask& task,
         Packing packing) {
    if (packing == Packing::cut) {
        const int fits_s = fitting_s(tap, *plan.start, plan.run_s, w.flow_l_per_min);
        if (fits_s >= task.zone->shortest_run_s) plan.run_s = fits_s;
    }
    const Seconds run{plan.run_s};
    const WallTime earliest = may_begin(context, task);
    std::optional<WallTime> start;
    if (packing == Packing::late)
        start = tap.latest(w.open, *plan.start, earliest, run, w.flow_l_per_min);
    else if (packing == Packing::soon)
        start = tap.earliest(w.open, earliest, run, w.flow_l_per_min);
    if (!start) start = tap.earliest(w.open, *plan.start, run, w.flow_l_per_min);
    // Not before the next day: then as long a run as there is room for today.
    const Span* today = span_at(w.open, *plan.start);
    if (today != nullptr && (!start || *start >= today->to)) {
        const int fits_s = fitting_s(tap, *plan.start, plan.run_s, w.flow_l_per_min);
        if (fits_s >= task.zone->shortest_run_s) {
            plan.run_s = fits_s;
            start = plan.start;
        }
    }
    if (!start) {
        plan.verdict = ZonePlan::Verdict::withhold;
        plan.reason = Reason::tap_busy;
        plan.start.reset();
        return;
    }
    plan.start = start;
    plan.late = plan.dry_at && *start > *plan.dry_at;
    tap.take(*start, *start + Seconds{plan.run_s}, w.flow_l_per_min);
}

// The latest moment at which a wished run begins in time.
WallTime latest_in_time(const Wish& w) {
    return std::max(*w.plan.start, w.plan.dry_at.value_or(*w.plan.start));
}

bool all_in_time(const std::vector<Wish>& wishes, const std::vector<ZonePlan>& plans) {
    for (std::size_t i = 0; i < plans.size(); ++i) {
        if (wishes[i].plan.verdict != ZonePlan::Verdict::run) continue;
        if (!plans[i].start || *plans[i].start > latest_in_time(wishes[i])) return false;
    }
    return true;
}

// How late the runs begin in all, for each stake, the dearest first.
using Lateness = std::array<Seconds, 4>;
Lateness lateness(const std::vector<Wish>& wishes, const std::vector<ZonePlan>& plans,
                  const std::vector<AtStake>& stakes) {
    constexpr Seconds kNever{7 * 86400};
    Lateness sum{};
    for (std::size_t i = 0; i < plans.size(); ++i) {
        if (wishes[i].plan.verdict != ZonePlan::Verdict::run) continue;
        const Seconds late = plans[i].start ? *plans[i].start - latest_in_time(wishes[i]) : kNever;
        sum[static_cast<std::size_t>(AtStake::stand) - static_cast<std::size_t>(stakes[i])] +=
            std::max(late, Seconds{0});
    }
    return sum;
}

// The wishes that ask for a run, by the moment at which each must begin or end, latest first.
// Those that are due at the same moment keep the garden's order.
std::vector<std::size_t> latest_first(const std::vector<Wish>& wishes, bool by_end) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < wishes.size(); ++i)
        if (wishes[i].plan.verdict == ZonePlan::Verdict::run) order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        const Seconds run_a{by_end ? wishes[a].plan.run_s : 0};
        const Seconds run_b{by_end ? wishes[b].plan.run_s : 0};
        return *wishes[a].plan.start + run_a > *wishes[b].plan.start + run_b;
    });
    return order;
}

// Runs that are due by now cannot move earlier: they come first, of them the one that dries first.
void due_first(std::vector<std::size_t>& order, const std::vector<Wish>& wishes, WallTime now) {
    const auto due_now = std::stable_partition(
        order.begin(), order.end(), [&](std::size_t i) { return *wishes[i].plan.start > now; });
    std::stable_sort(due_now, order.end(), [&](std::size_t a, std::size_t b) {
        return wishes[a].plan.dry_at.value_or(now) < wishes[b].plan.dry_at.value_or(now);
    });
    std::rotate(order.begin(), due_now, order.end());
}

// By their starts; of those that start together the ones first that were found a run. Where these
// are binding, all of them come first.
std::vector<std::size_t> first_first(const std::vector<Wish>& wishes, const TapDay& day) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < wishes.size(); ++i)
        if (wishes[i].plan.verdict == ZonePlan::Verdict::run) order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return std::tuple(day.binding && !day.runs[a], *wishes[a].plan.start, !day.runs[a]) <
               std::tuple(day.binding && !day.runs[b], *wishes[b].plan.start, !day.runs[b]);
    });
    return order;
}

std::vector<ZonePlan> lay_all(const PlanContext& context, std::span<const ZoneTask> tasks,
                              const std::vector<Wish>& wishes,
                              const std::vector<std::size_t>& order, Packing packing) {
    Tap tap(*context.garden);
    for (const ZoneTask& task : tasks)
        if (task.open_until) tap.take(context.now, *task.open_until, task.zone->flow_l_per_min());
    std::vector<ZonePlan> plans;
    for (const Wish& w : wishes)
        plans.push_back(w.plan);
    for (const std::size_t i : order)
        lay(tap, wishes[i], plans[i], context, tasks[i], packing);
    return plans;
}

struct Laid {
    std::vector<ZonePlan> plans;
    bool in_time = false; // all of them
};
// One run of each zone.
Laid lay_one_each(const PlanContext& context, std::span<const ZoneTask> tasks,
                  const std::vector<Wish>& wishes) {
    // Latest first: each earlier one then finds the later ones laid and moves before them.
    auto order = latest_first(wishes, false);
    due_first(order, wishes, context.now);
    auto best = lay_all(context, tasks, wishes, order, Packing::late);
    if (all_in_time(wishes, best)) return {std::move(best), true};

    // Too tight for that. Runs of different length may fit by the moment at which they must end; or
    // one after the other from now on, the first due first, which wastes no time.
    auto by_end = latest_first(wishes, true);
    due_first(by_end, wishes, context.now);
    auto soonest = latest_first(wishes, true);
    std::stable_sort(soonest.begin(), soonest.end(), [&](std::size_t a, std::size_t b) {
        return latest_in_time(wishes[a]) + Seconds{wishes[a].plan.run_s} <
               latest_in_time(wishes[b]) + Seconds{wishes[b].plan.run_s};
    });
    for (auto& plans : {lay_all(context, tasks, wishes, by_end, Packing::late),
                        lay_all(context, tasks, wishes, soonest, Packing::soon)})
        if (all_in_time(wishes, plans)) return {plans, true};
    // Where nothing fits, those that drying costs most come first, and of these the driest.
    std::vector<AtStake> stakes;
    for (const ZoneTask& task : tasks)
        stakes.push_back(at_stake(task.state.progress));
    const auto consider = [&](std::vector<std::size_t> runs, Packing packing) {
        const auto given = runs;
        std::stable_sort(runs.begin(), runs.end(),
                         [&](std::size_t a, std::size_t b) { return stakes[a] > stakes[b]; });
        if (runs == given) return; // as much is at stake everywhere
        auto plans = lay_all(context, tasks, wishes, runs, packing);
        if (lateness(wishes, plans, stakes) < lateness(wishes, best, stakes))
            best = std::move(plans);
    };
    consider(order, Packing::late);
    consider(soonest, Packing::soon);
    return {std::move(best), false};
}

// The tap is free until all of these runs: beds that want water ahead of their need get it now, up
// to where another run begins.
void use_idle_tap(const PlanContext& context, std::span<const ZoneTask> tasks,
                  const std::vector<Wish>& wishes, const TapDay& day,
                  std::vector<ZonePlan>& plans) {
    constexpr Seconds kSoon{900}; // what begins later is planned again before
    for (const std::size_t i : first_first(wishes, day)) {
        if (!day.runs[i] || !day.runs[i]->ahead || day.runs[i]->start >= context.now + kSoon)
            continue;
        Tap tap(*context.garden);
        for (std::size_t k = 0; k < tasks.size(); ++k) {
            const double flow = tasks[k].zone->flow_l_per_min();
            if (tasks[k].open_until) tap.take(context.now, *tasks[k].open_until, flow);
            if (k != i && plans[k].start)
                tap.take(*plans[k].start, *plans[k].start + Seconds{plans[k].run_s}, flow);
        }
        PlannedRun run = *day.runs[i];
        run.run_s = fitting_s(tap, run.start, run.run_s, wishes[i].flow_l_per_min);
        if (run.run_s < tasks[i].zone->shortest_run_s) continue;
        Wish w = wishes[i];
        give(w, context, tasks[i], run);
        if (w.plan.start == run.start) plans[i] = w.plan;
    }
}

} // namespace

std::vector<ZonePlan> plan(const PlanContext& context, std::span<const ZoneTask> tasks) {
    CHECK(context.garden != nullptr && context.timezone != nullptr);
    const Evenings evenings = evenings_of(context);
    const TapDay day = tap_day(context, evenings, tasks);
    const auto all_wishes = [&](Lengths where_a_run_was_found) {
        std::vector<Wish> wishes;
        for (std::size_t i = 0; i < tasks.size(); ++i)
            wishes.push_back(wish(context, evenings, tasks[i], day.closings[i],
                                  day.runs[i] ? where_a_run_was_found : Lengths::searched));
        return wishes;
    };
    // What was found in the day takes the place of a wish, unless all can be in time as well:
    // lengths are searched only then.
    std::vector<Wish> wishes = all_wishes(Lengths::usual);
    Laid laid = lay_one_each(context, tasks, wishes);
    if (!day.crowded) return laid.plans;
    if (laid.in_time && !day.binding) {
        wishes = all_wishes(Lengths::searched);
        laid = lay_one_each(context, tasks, wishes);
    }
    if (laid.in_time && !day.binding) {
        use_idle_tap(context, tasks, wishes, day, laid.plans);
        return laid.plans;
    }
    for (std::size_t i = 0; i < tasks.size(); ++i)
        if (day.runs[i]) give(wishes[i], context, tasks[i], *day.runs[i]);
    return lay_all(context, tasks, wishes, first_first(wishes, day), Packing::cut);
}

} // namespace firstmow::watering
