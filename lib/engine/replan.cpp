// What next: the planner's answers become decisions, and those that are due become open valves.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include "base/text.hpp"
#include "watering/explain.hpp"
#include "watering/firm.hpp"
#include "watering/shortfall.hpp"

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
// What was told is not told again for so long, unless it gets worse.
constexpr Seconds kWarnEvery{4 * 86400};
constexpr std::string_view kMowPlanned = "mow_planned";

using watering::Reason;
using watering::ZonePlan;
using watering::ZoneTask;

ZoneTask task_of(const Work& work, std::size_t i, watering::Hours hours,
                 const watering::ZoneSpec& spec) {
    const ZoneRuntime& z = work.state.zones[i];
    ZoneTask t;
    t.zone = &work.setup.garden.zones[i];
    t.spec = &spec;
    const watering::AtStake stake = watering::at_stake(z.settled.progress);
    t.state = zone_now(work.setup, work.state, i, hours, work.now.wall,
                       watering::prudence_of(stake).rain_from);
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
    t.bar = plan_bar(work.setup, work.state, work.now, i);
    const int most_s = longest_allowed_s(work.setup, work.state, work.now, i);
    if (most_s >= t.zone->shortest_run_s) t.most_s = most_s;
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

// A run that a mow has moved has a reason of its own.
std::string reason_of(const watering::FirmPlan& firm) {
    const bool moved = firm.did == watering::ForMow::sooner || firm.did == watering::ForMow::later;
    return std::string(moved ? kMowPlanned : watering::key(firm.plan.reason));
}

bool is_news(const ZoneRuntime& z, Verdict verdict, const ZonePlan& plan,
             const std::string& reason) {
    if (verdict == Verdict::run || verdict != z.verdict) return true;
    if (z.next_reason != reason) return true;
    if (plan.start.has_value() != z.next_start.has_value()) return true;
    if (!plan.start) return false;
    const Seconds moved =
        *plan.start > *z.next_start ? *plan.start - *z.next_start : *z.next_start - *plan.start;
    return moved >= kSamePlan || std::abs(plan.run_s - z.next_run_s) >= kSameRunS;
}

// What would help against a spell, in the owner's words.
std::string advice(const Work& work, const watering::DrySpell& spell, const ZoneTask& task) {
    using watering::Obstacle;
    const garden::Supply& supply = work.setup.garden.supply;
    const bool bare = task.zone->establishment.method == turf::Method::seed &&
                      task.zone->establishment.cover == turf::Cover::none;
    const std::string straw = bare ? " Straw would slow the drying." : "";
    switch (spell.obstacle) {
    case Obstacle::hours:
        if (watering::banned_at_midday(supply) &&
            watering::at_stake(task.state.progress) >= watering::AtStake::time)
            return "the hours leave out midday. Ask the local authority whether new lawns may be "
                   "watered then; many give a permit." +
                   straw;
        return "the hours do not allow water sooner; longer hours would." + straw;
    case Obstacle::tap:
        return "other zones have the tap; longer hours, a stronger supply or fewer zones at once "
               "would help." +
               straw;
    case Obstacle::frost:
        return "it is too cold to water.";
    case Obstacle::rest:
        return "a rest since the last run or fault does not allow water sooner." + straw;
    case Obstacle::hold:
        break;
    }
    return "it is held by a person.";
}

// Once for a spell, and not night after night for spells alike: only when more is at stake, or
// when it lasts half as long again as what was told.
bool was_told(const ZoneRuntime& z, const watering::DrySpell& spell, watering::AtStake stake,
              WallTime now) {
    if (!z.warned_dry) return false;
    const bool worse = static_cast<int>(stake) > z.warned_stake ||
                       spell.dry.count() > z.warned_dry_s + z.warned_dry_s / 2 + 1800;
    if (worse && spell.from >= z.warned_until) return false;
    return now - *z.warned_dry < kWarnEvery;
}

void warn_when_late(Work& work, std::size_t i, const watering::PlanContext& context,
                    const ZonePlan& plan, const ZoneTask& task) {
    ZoneRuntime& z = work.state.zones[i];
    if (plan.reason == Reason::on_hold) return; // a person's word, and said in the decision
    // So is what an interlock forbids; hours and tap are not to blame.
    if (!plan.start && (plan.bar || plan.reason == Reason::wind)) return;
    const auto spell = watering::dry_spell(context, task, plan);
    if (!spell) return;
    const watering::AtStake stake = watering::at_stake(task.state.progress);
    if (was_told(z, *spell, stake, work.now.wall)) return;
    z.warned_dry = work.now.wall;
    z.warned_until = spell->until;
    z.warned_dry_s = static_cast<int>(spell->dry.count());
    z.warned_stake = static_cast<int>(stake);
    const auto clock = [&](WallTime t) {
        return watering::clock_words(t, work.setup.timezone, work.now.wall);
    };
    const std::string how =
        task.needs.judge_root_zone
            ? "with " + fixed(spell->most_used * 100, 0) + " % of the roots' water used"
            : "down to " + fixed(spell->lowest_kpa, 0) + " kPa in the driest quarter";
    work.notify(task.zone->id, Severity::warning, "will_be_dry",
                task.zone->name + " is expected to be too dry for " +
                    watering::duration_words(z.warned_dry_s) + ", from " + clock(spell->from) +
                    " until " + clock(spell->until) + ", " + how + " (" +
                    std::string(watering::words(stake)) + "): " + advice(work, *spell, task));
}

// The rule that forbade it, if one did; then nothing has changed.
// `rest`: none, where the tap does not suffice and what it gives now is all the bed will get.
std::optional<watering::Bar> start_run(Work& work, std::size_t i, int run_s, int owed_s,
                                       const std::string& reason, Seconds rest = kPlanEvery) {
    ZoneRuntime& z = work.state.zones[i];
    if (auto bar = open_valve(work, i, run_s, reason)) return bar;
    z.owed_s = owed_s;
    // A person's minute does not wet it through.
    if (reason != watering::key(Reason::person)) z.soaked = true;
    z.not_before =
        std::max(z.not_before, work.now.wall + Seconds{run_s} + (owed_s > 0 ? kSoak : rest));
    return std::nullopt;
}

// People's orders come before the plan; they wait only for the tap.
void start_orders(Work& work) {
    const std::string person(watering::key(Reason::person));
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        ZoneRuntime& z = work.state.zones[i];
        if (z.ordered_s == 0 || z.open) continue;
        const int run_s = z.ordered_s;
        const std::string& name = work.setup.garden.zones[i].name;
        if (work.now.wall >= z.ordered_until) {
            z.ordered_s = 0;
            work.notify(work.setup.garden.zones[i].id, Severity::warning, "order_dropped",
                        "The order to water " + name +
                            " waited too long for the tap and was dropped.");
            continue;
        }
        if (const auto bar = start_run(work, i, run_s, 0, person)) {
            if (passes_soon(bar->reason)) {
                if (bar->until && *bar->until > work.now.wall)
                    work.state.next_plan = std::min(work.state.next_plan, *bar->until);
                continue;
            }
            z.ordered_s = 0;
            work.notify(work.setup.garden.zones[i].id, Severity::warning, "order_refused",
                        "The order to water " + name + " is refused: " +
                            watering::bar_words(*bar, work.setup.timezone, work.now.wall) + ".");
            continue;
        }
        z.ordered_s = 0;
        Decision d{work.now.wall,
                   work.setup.garden.zones[i].id,
                   Verdict::run,
                   work.now.wall,
                   run_s,
                   person,
                   ""};
        d.explanation = "Runs " + watering::duration_words(run_s) + " now: a person ordered it.";
        z.verdict = Verdict::run;
        z.next_reason = d.reason;
        z.explanation = d.explanation;
        work.record(std::move(d));
    }
}

void decide(Work& work, std::size_t i, const watering::PlanContext& context,
            watering::FirmPlan firm, const ZoneTask& task) {
    ZoneRuntime& z = work.state.zones[i];
    ZonePlan& plan = firm.plan;
    if (verdict_of(plan, work.now.wall) == Verdict::run)
        if (auto bar = rule_on(work.setup, work.state, work.now, i, plan.run_s, Asker::plan)) {
            // The plan did not foresee it: a thermometer that is colder than the forecast, say.
            plan.verdict = ZonePlan::Verdict::withhold;
            plan.reason = bar->reason;
            if (bar->until && *bar->until > work.now.wall)
                work.state.next_plan = std::min(work.state.next_plan, *bar->until);
            plan.bar = std::move(bar);
            plan.start.reset();
            firm.did = watering::ForMow::nothing;
        }
    const Verdict verdict = verdict_of(plan, work.now.wall);
    const std::string reason = reason_of(firm);
    // What is still owed of a split run is not wanted any more, after rain for example.
    if (task.under_way && !plan.bar && plan.reason != Reason::rest_of_run) z.owed_s = 0;
    // What waits for a mow that a person has told of is no surprise.
    if (firm.did != watering::ForMow::later) warn_when_late(work, i, context, plan, task);
    if (is_news(z, verdict, plan, reason)) {
        z.explanation = watering::explain_mow(firm, task, z.mow_at.value_or(WallTime{}),
                                              work.setup.timezone, work.now.wall);
        work.record(Decision{work.now.wall, task.zone->id, verdict, plan.start, plan.run_s, reason,
                             z.explanation});
        z.verdict = verdict;
        z.next_reason = reason;
        z.next_start = plan.start;
        z.next_run_s = plan.run_s;
    }
    // What is due is what was just planned; what people are shown moves only with news.
    if (verdict == Verdict::run) {
        z.next_start.reset();
        // rule_on() was asked
        (void)start_run(work, i, plan.run_s, plan.owed_s, reason,
                        plan.ahead ? Seconds{0} : kPlanEvery);
    }
}

// A mow that nobody has reported is taken for one that was not.
void forget_old_mows(Work& work) {
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        ZoneRuntime& z = work.state.zones[i];
        if (!z.mow_at || work.now.wall < *z.mow_at + watering::kMowTakes) continue;
        const garden::Zone& zone = work.setup.garden.zones[i];
        work.notify(zone.id, Severity::note, "mow_not_reported",
                    "The mow of " + zone.name + " that was planned for " +
                        watering::clock_words(*z.mow_at, work.setup.timezone, work.now.wall) +
                        " was not reported: water goes by plan again. Report it if it was mown.");
        z.mow_at.reset();
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
    forget_old_mows(work);
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
        watering::FirmPlan firm{plans[i], watering::ForMow::nothing};
        if (const auto mow = work.state.zones[i].mow_at)
            firm = watering::keep_firm(context, tasks[i], *mow, plans[i]);
        // Wake for a start that lies before the next regular planning.
        if (firm.plan.verdict == ZonePlan::Verdict::run && *firm.plan.start > work.now.wall)
            work.state.next_plan = std::min(work.state.next_plan, *firm.plan.start);
        decide(work, i, context, std::move(firm), tasks[i]);
    }
}

} // namespace firstmow::engine
