#include "watering/planner.hpp"

#include "base/check.hpp"
#include "watering/shortfall.hpp"
#include "watering/wish.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <numeric>

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

// The tap's flow over time, as runs are laid into it.
class Tap {
public:
    explicit Tap(const garden::Garden& garden)
        : flow_(garden.supply.flow_l_per_min),
          at_once_(static_cast<std::size_t>(garden.interlocks.zones_at_once)),
          pump_rest_(garden.pump ? garden.pump->rest_s : 0) {}

    void take(WallTime from, WallTime to, double flow_l_per_min) {
        if (to > from) taken_.push_back({{from, to}, flow_l_per_min});
    }

    bool has_room(WallTime from, WallTime to, double flow_l_per_min) const {
        // Flow changes only where a run begins, so those moments are all that need a look.
        if (is_full_at(from, flow_l_per_min)) return false;
        const bool full = std::any_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
            return t.span.from > from && t.span.from < to &&
                   is_full_at(t.span.from, flow_l_per_min);
        });
        return !full && pump_may(from, to);
    }

    // The latest start at or before `wanted` with room for the run, inside one of `open`.
    std::optional<WallTime> latest(const std::vector<Span>& open, WallTime wanted,
                                   WallTime earliest, Seconds run, double flow_l_per_min) const {
        // Only just before another run begins, or at the wish itself, can the latest start be.
        std::vector<WallTime> candidates{wanted};
        for (const Taken& t : taken_) {
            candidates.push_back(t.span.from - run);
            if (pump_rest_.count() == 0) continue;
            candidates.push_back(t.span.from - pump_rest_);
            candidates.push_back(t.span.to); // the pump runs on
        }
        for (const Span& span : open)
            candidates.push_back(span.to - run);
        std::sort(candidates.begin(), candidates.end(), std::greater<>());
        for (const WallTime start : candidates)
            if (start <= wanted && start >= earliest && inside(open, start, run) &&
                has_room(start, start + run, flow_l_per_min))
                return start;
        return std::nullopt;
    }

    std::optional<WallTime> earliest(const std::vector<Span>& open, WallTime from, Seconds run,
                                     double flow_l_per_min) const {
        std::vector<WallTime> candidates{from};
        for (const Taken& t : taken_) {
            candidates.push_back(t.span.to);
            if (pump_rest_.count() > 0) candidates.push_back(t.span.from + pump_rest_);
        }
        for (const Span& span : open)
            candidates.push_back(span.from);
        std::sort(candidates.begin(), candidates.end());
        for (const WallTime start : candidates)
            if (start >= from && inside(open, start, run) &&
                has_room(start, start + run, flow_l_per_min))
                return start;
        return std::nullopt;
    }

private:
    struct Taken {
        Span span;
        double flow;
    };
    static constexpr double kRounding = 1e-9;

    double used_at(WallTime t) const {
        return std::accumulate(taken_.begin(), taken_.end(), 0.0, [t](double sum, const Taken& x) {
            return sum + (x.span.from <= t && t < x.span.to ? x.flow : 0.0);
        });
    }

    bool is_full_at(WallTime t, double flow_l_per_min) const {
        const auto running = static_cast<std::size_t>(
            std::count_if(taken_.begin(), taken_.end(),
                          [t](const Taken& x) { return x.span.from <= t && t < x.span.to; }));
        return running >= at_once_ || used_at(t) + flow_l_per_min > flow_ + kRounding;
    }

    // Whether the pump may start for this run, and after it for the next: it rests from one start
    // to another, but runs on from a run to one that follows at once.
    bool pump_may(WallTime from, WallTime to) const {
        if (pump_rest_.count() == 0) return true;
        const bool runs_on = std::any_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
            return t.span.from <= from && from <= t.span.to;
        });
        return std::none_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
            if (t.span.from <= from) return !runs_on && from < t.span.from + pump_rest_;
            return t.span.from > to && t.span.from < from + pump_rest_;
        });
    }

    static bool inside(const std::vector<Span>& open, WallTime start, Seconds run) {
        return std::any_of(open.begin(), open.end(), [&](const Span& span) {
            return span.from <= start && start + run <= span.to;
        });
    }

    double flow_;
    std::size_t at_once_;
    Seconds pump_rest_;
    std::vector<Taken> taken_;
};

// How wishes are laid into the tap: as late as others leave room, or one after the other from the
// earliest moment on.
enum class Packing : std::uint8_t { late, soon };

// Lays one wish into the tap, moved earlier where others have it, later where nothing else is left.
void lay(Tap& tap, const Wish& w, ZonePlan& plan, const PlanContext& context, const ZoneTask& task,
         Packing packing) {
    const Seconds run{plan.run_s};
    WallTime earliest = std::max(context.now, task.not_before);
    if (task.open_until) earliest = std::max(earliest, *task.open_until);
    if (task.hold_until) earliest = std::max(earliest, *task.hold_until);
    if (task.bar && task.bar->until) earliest = std::max(earliest, *task.bar->until);
    auto start = packing == Packing::late
                     ? tap.latest(w.open, *plan.start, earliest, run, w.flow_l_per_min)
                     : tap.earliest(w.open, earliest, run, w.flow_l_per_min);
    if (!start) start = tap.earliest(w.open, *plan.start, run, w.flow_l_per_min);
    if (!start) {
        plan.verdict = ZonePlan::Verdict::withhold;
        plan.reason = Reason::tap_busy;
        plan.start.reset();
        return;
    }
    plan.start = start;
    plan.late = plan.dry_at && *start > *plan.dry_at;
    tap.take(*start, *start + run, w.flow_l_per_min);
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

} // namespace

std::vector<ZonePlan> plan(const PlanContext& context, std::span<const ZoneTask> tasks) {
    CHECK(context.garden != nullptr && context.timezone != nullptr);
    const Evenings evenings = evenings_of(context);
    std::vector<Wish> wishes;
    for (const ZoneTask& task : tasks)
        wishes.push_back(wish(context, evenings, task));

    // Latest first: each earlier one then finds the later ones laid and moves before them.
    auto order = latest_first(wishes, false);
    due_first(order, wishes, context.now);
    const auto usual = lay_all(context, tasks, wishes, order, Packing::late);
    if (all_in_time(wishes, usual)) return usual;

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
        if (all_in_time(wishes, plans)) return plans;
    // Where nothing fits, those that drying costs most come first, and of these the driest.
    std::vector<AtStake> stakes;
    for (const ZoneTask& task : tasks)
        stakes.push_back(at_stake(task.state.progress));
    std::vector<ZonePlan> best = usual;
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
    return best;
}

} // namespace firstmow::watering
