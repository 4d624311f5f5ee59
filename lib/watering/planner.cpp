#include "watering/planner.hpp"

#include "base/check.hpp"
#include "watering/wish.hpp"

#include <algorithm>
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
    }
    return "";
}

namespace {

// The tap's flow over time, as runs are laid into it.
class Tap {
public:
    explicit Tap(double flow_l_per_min) : flow_(flow_l_per_min) {}

    void take(WallTime from, WallTime to, double flow_l_per_min) {
        if (to > from) taken_.push_back({{from, to}, flow_l_per_min});
    }

    bool has_room(WallTime from, WallTime to, double flow_l_per_min) const {
        // Flow changes only where a run begins, so those moments are all that need a look.
        if (used_at(from) + flow_l_per_min > flow_ + kRounding) return false;
        return std::none_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
            return t.span.from > from && t.span.from < to &&
                   used_at(t.span.from) + flow_l_per_min > flow_ + kRounding;
        });
    }

    // The latest start at or before `wanted` with room for the run, inside one of `open`.
    std::optional<WallTime> latest(const std::vector<Span>& open, WallTime wanted,
                                   WallTime earliest, Seconds run, double flow_l_per_min) const {
        // Only just before another run begins, or at the wish itself, can the latest start be.
        std::vector<WallTime> candidates{wanted};
        for (const Taken& t : taken_)
            candidates.push_back(t.span.from - run);
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
        for (const Taken& t : taken_)
            candidates.push_back(t.span.to);
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

    static bool inside(const std::vector<Span>& open, WallTime start, Seconds run) {
        return std::any_of(open.begin(), open.end(), [&](const Span& span) {
            return span.from <= start && start + run <= span.to;
        });
    }

    double flow_;
    std::vector<Taken> taken_;
};

// Lays one wish into the tap, moved earlier where others have it, later where nothing else is left.
void lay(Tap& tap, const Wish& w, ZonePlan& plan, const PlanContext& context,
         const ZoneTask& task) {
    const Seconds run{plan.run_s};
    WallTime earliest = std::max(context.now, task.not_before);
    if (task.open_until) earliest = std::max(earliest, *task.open_until);
    if (task.hold_until) earliest = std::max(earliest, *task.hold_until);
    auto start = tap.latest(w.open, *plan.start, earliest, run, w.flow_l_per_min);
    if (!start) {
        start = tap.earliest(w.open, *plan.start, run, w.flow_l_per_min);
        if (!start) {
            plan.verdict = ZonePlan::Verdict::withhold;
            plan.reason = Reason::tap_busy;
            plan.start.reset();
            return;
        }
        plan.late = plan.late || (plan.dry_at && *start > *plan.dry_at);
    }
    plan.start = start;
    tap.take(*start, *start + run, w.flow_l_per_min);
}

} // namespace

std::vector<ZonePlan> plan(const PlanContext& context, std::span<const ZoneTask> tasks) {
    CHECK(context.garden != nullptr && context.timezone != nullptr);
    Tap tap(context.garden->supply.flow_l_per_min);
    std::vector<Wish> wishes;
    std::vector<std::size_t> order;
    for (const ZoneTask& task : tasks) {
        if (task.open_until) tap.take(context.now, *task.open_until, task.zone->flow_l_per_min());
        wishes.push_back(wish(context, task));
        if (wishes.back().plan.verdict == ZonePlan::Verdict::run)
            order.push_back(wishes.size() - 1);
    }
    // Latest first: each earlier one then finds the later ones laid and moves before them. Those
    // that are due at the same moment keep the garden's order.
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return *wishes[a].plan.start > *wishes[b].plan.start;
    });
    // Runs that are due by now cannot move earlier: the one that dries first goes first.
    const auto due_now = std::stable_partition(order.begin(), order.end(), [&](std::size_t i) {
        return *wishes[i].plan.start > context.now;
    });
    std::stable_sort(due_now, order.end(), [&](std::size_t a, std::size_t b) {
        return wishes[a].plan.dry_at.value_or(context.now) <
               wishes[b].plan.dry_at.value_or(context.now);
    });
    std::rotate(order.begin(), due_now, order.end());
    for (const std::size_t i : order)
        lay(tap, wishes[i], wishes[i].plan, context, tasks[i]);

    std::vector<ZonePlan> plans;
    for (Wish& w : wishes)
        plans.push_back(std::move(w.plan));
    return plans;
}

} // namespace firstmow::watering
