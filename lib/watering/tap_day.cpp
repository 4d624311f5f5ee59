#include "watering/tap_day.hpp"

#include "watering/rollout.hpp"
#include "watering/slot_day.hpp"
#include "watering/tap.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>

namespace firstmow::watering {

namespace {

// An own end of the hours nearer to theirs than this is no other.
constexpr Seconds kSame{60};
// From this part of the tap's time on that beds want it is worth to look at the day: it is an
// estimate, and runs do not fit without gaps.
constexpr double kMuch = 0.3;
// So many beds, of all choices together, are lived with at most: a plan must not take long.
constexpr std::size_t kMostBeds = 64;
constexpr Seconds kLongBefore{3600};
// Of more their last runs are not looked at twice, for the same reason.
constexpr std::size_t kFewBeds = 8;

// Of so many what was found slot by slot is taken as it is. Where more share the tap, slots are too
// long: beds that can be in time one after the other are not to be late by minutes.
constexpr std::size_t kBindingBeds = 4;

using Beds = std::deque<SharedBed>;

// The seedbeds that share the tap today.
Beds beds_of(const PlanContext& context, const Evenings& evenings,
             std::span<const ZoneTask> tasks) {
    Beds beds;
    for (std::size_t i = 0; i < tasks.size(); ++i) {
        const ZoneTask& task = tasks[i];
        const bool barred = task.bar && !task.bar->until;
        if (!task.under_way || !task.soaked || task.needs.judge_root_zone || barred) continue;
        const SharedBed& bed = beds.emplace_back(context, evenings, task, i);
        if (bed.hours_to >= context.hours.back().start) beds.pop_back();
    }
    return beds;
}

// Where last runs lay in a day before, and how dry the beds were then.
struct Before {
    std::vector<LastRun> runs;
    std::vector<Outlook> beds;
};

// Laid backwards in that order, each as long as it must be where it lay `before`; for the end of
// the hours and a bed that is just damp where nothing was.
std::vector<LastRun> last_runs(const PlanContext& context, std::span<const ZoneTask> tasks,
                               const Beds& beds, const std::vector<std::size_t>& order,
                               const Before* before = nullptr) {
    Tap tap(*context.garden);
    for (const ZoneTask& task : tasks)
        if (task.open_until) tap.take(context.now, *task.open_until, task.zone->flow_l_per_min());
    std::vector<LastRun> runs(beds.size());
    for (const std::size_t i : order) {
        const SharedBed& bed = beds[i];
        LastRun& last = runs[i];
        Outlook then = before ? before->beds[i] : bed.sizer.just_damp_at(bed.hours_to);
        if (before) then.at = before->runs[i].end - Seconds{before->runs[i].run_s};
        then.caution = bed.test.caution;
        last.run_s = bed.sizer.overnight_s(then);
        last.end = bed.hours_to;
        if (last.run_s == 0) continue;
        const Seconds run{last.run_s};
        const auto start =
            tap.latest(bed.open, bed.hours_to - run, bed.earliest, run, bed.flow_l_per_min);
        last.end = start ? *start + run : std::min(bed.earliest + run, bed.hours_to);
        tap.take(last.end - run, last.end, bed.flow_l_per_min);
    }
    return runs;
}

// Those have the end of the hours that drying costs most; else the garden's order counts, which is
// the same at the next plan.
std::vector<std::size_t> last_first(const Beds& beds) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < beds.size(); ++i)
        order.push_back(i);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return beds[a].stake > beds[b].stake; });
    return order;
}

// What part of the tap's time until the end of the hours the beds want. Of a run that has it for
// itself all, else as many as fit go at once.
double load_of(const PlanContext& context, const Beds& beds, const std::vector<LastRun>& last) {
    const double at_once = context.garden->interlocks.zones_at_once;
    double load = 0;
    for (std::size_t i = 0; i < beds.size(); ++i) {
        const SharedBed& bed = beds[i];
        const double fit = context.garden->supply.flow_l_per_min / bed.flow_l_per_min + 1e-9;
        const Seconds left = bed.hours_to - std::min(bed.earliest, bed.hours_to - kSame);
        load += (bed.sizer.day_s(last[i].end) + last[i].run_s) /
                std::clamp(std::floor(fit), 1.0, at_once) / static_cast<double>(left.count());
    }
    return load;
}

// By what they have been found good for, those first that take little water, and as many as there
// is time for. The usual way is none of them.
std::vector<Way> other_ways(const Beds& beds) {
    using First = Way::First;
    const bool alike = std::all_of(beds.begin(), beds.end(), [&](const SharedBed& bed) {
        return bed.stake == beds.front().stake;
    });
    const auto ahead = [](double share, Seconds span, First first, bool dearest_first) {
        Way way;
        way.ahead_from = 0.2;
        way.ahead_span = span;
        way.run_share = share;
        way.first = first;
        way.dearest_first = dearest_first;
        return way;
    };
    constexpr Seconds kEvening{2 * 3600};
    constexpr Seconds kAfternoon{4 * 3600};
    constexpr Seconds kDay = Way::kWholeDay;
    Way filling;
    filling.run_share = 1;
    std::vector<Way> ways{
        ahead(0.5, kEvening, First::driest, false),   ahead(0.4, kDay, First::driest, false),
        ahead(1, kDay, First::driest, !alike),        ahead(1, kDay, First::first_bed, false),
        ahead(0.5, kAfternoon, First::driest, false), filling};
    // The usual way has been lived through already.
    ways.resize(std::min(ways.size(), std::max(kMostBeds / beds.size(), std::size_t{1}) - 1));
    return ways;
}

// Less dry; where it is all the same within minutes, less water.
bool better(const LivedDay& a, const LivedDay& b) {
    constexpr double kSameCostMin = 5;
    if (std::abs(a.cost_min - b.cost_min) > kSameCostMin) return a.cost_min < b.cost_min;
    return a.open < b.open;
}

// Whether any bed could be given water before the next plan: else it is early enough then.
bool could_begin(const PlanContext& context, std::span<const ZoneTask> tasks, const Beds& beds) {
    constexpr Seconds kNextPlan{900};
    Tap tap(*context.garden);
    for (const ZoneTask& task : tasks)
        if (task.open_until) tap.take(context.now, *task.open_until, task.zone->flow_l_per_min());
    return std::any_of(beds.begin(), beds.end(), [&](const SharedBed& bed) {
        const WallTime end = bed.earliest + Seconds{bed.task.zone->shortest_run_s};
        return bed.earliest < context.now + kNextPlan && end <= bed.hours_to &&
               tap.has_room(bed.earliest, end, bed.flow_l_per_min);
    });
}

using NextRuns = std::vector<std::optional<PlannedRun>>;

// The next runs of the best of some ways; `usual` is the first of them.
NextRuns by_ways(const PlanContext& context, std::span<const ZoneTask> tasks, const Beds& beds,
                 const std::vector<LastRun>& last, LivedDay usual, bool& binding) {
    LivedDay best = std::move(usual);
    for (const Way& way : other_ways(beds)) {
        if (best.cost_min <= 0) break;
        LivedDay lived = live_day(context, tasks, beds, last, way);
        if (!better(lived, best)) continue;
        best = std::move(lived);
        // Beds are let dry so that those are spared which drying costs more.
        binding = way.dearest_first && best.cost_min > 0;
    }
    return best.next;
}

} // namespace

TapDay tap_day(const PlanContext& context, const Evenings& evenings,
               std::span<const ZoneTask> tasks) {
    TapDay day;
    day.closings.resize(tasks.size());
    day.runs.resize(tasks.size());
    if (tasks.size() < 2) return day;
    Beds beds = beds_of(context, evenings, tasks);
    if (beds.size() < 2) return day;
    // At night nothing can begin; the end of the next day's hours is looked at when they have
    // begun.
    const bool night = std::all_of(beds.begin(), beds.end(), [&](const SharedBed& bed) {
        return bed.opening > context.now + kLongBefore;
    });
    if (night) return day;
    const auto order = last_first(beds);
    Before before{last_runs(context, tasks, beds, order), {}};
    if (load_of(context, beds, before.runs) < kMuch) return day;
    for (SharedBed& bed : beds)
        bed.look_closer(context.now);
    auto last = before.runs;
    if (beds.size() <= kFewBeds) {
        // A day lived through shows how dry the beds are below when they come to their last runs.
        before.beds = live_day(context, tasks, beds, before.runs, {}).before_last;
        last = last_runs(context, tasks, beds, order, &before);
    }
    for (std::size_t i = 0; i < beds.size(); ++i)
        if (beds[i].hours_to - last[i].end > kSame) day.closings[beds[i].zone] = last[i].end;

    if (!could_begin(context, tasks, beds)) return day;

    const LivedDay usual = live_day(context, tasks, beds, last, {});
    if (usual.cost_min <= 0) return day;
    day.crowded = true;
    day.binding = beds.size() <= kBindingBeds;
    const NextRuns next = beds.size() <= kMostSlotBeds
                              ? slot_day(context, tasks, beds).next
                              : by_ways(context, tasks, beds, last, usual, day.binding);
    for (std::size_t i = 0; i < beds.size(); ++i)
        day.runs[beds[i].zone] = next[i];
    return day;
}

} // namespace firstmow::watering
