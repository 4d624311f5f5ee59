// Valves: opening, closing, and what to make of their answers.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include "base/text.hpp"
#include "watering/explain.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

// After a failed opening the zone rests, twice as long each time.
constexpr Seconds kFaultRest{600};
constexpr int kMostDoublings = 5;
// A fault that goes on is told again after so long.
constexpr Seconds kTellAgain{600};

int whole_seconds(Millis span) {
    return static_cast<int>(std::chrono::round<Seconds>(span).count());
}

void add_to_day(Work& work, std::size_t zone, double depth_mm, double volume_l) {
    ZoneRuntime& z = work.state.zones[zone];
    const Date today = work.setup.timezone.local_date(work.now.wall);
    if (z.day != today) {
        z.day = today;
        z.day_mm = 0;
        z.day_l = 0;
    }
    z.day_mm += depth_mm;
    z.day_l += volume_l;
}

constexpr Seconds kDay{86400};

bool told_lately(const Work& work, const std::string& id, std::string_view code) {
    return std::any_of(work.state.notices.begin(), work.state.notices.end(), [&](const Notice& n) {
        return n.zone == id && n.code == code && work.now.wall - n.time < kTellAgain;
    });
}

void alarm_of(Work& work, std::size_t zone, const std::string& code, std::string text) {
    alarm(work, work.setup.garden.zones[zone].id, code, std::move(text));
}

// An opening that brought no water, by no person's wish: what it should have brought is due yet.
void give_back(ZoneRuntime& z, const Cycle& c) {
    if (c.outcome != Outcome::failed && c.outcome != Outcome::interrupted) return;
    if (c.reason == watering::key(watering::Reason::first_soak)) z.soaked = false;
    z.owed_s =
        c.reason == watering::key(watering::Reason::rest_of_run) ? z.owed_s + c.planned_s : 0;
}

// Whether the valve was seen open since it was asked to open.
bool has_opened(const ZoneRuntime& z) {
    return !z.applied.empty() && !z.applied.back().to;
}

// For the interlocks: when it ended, and what it gave.
void remember(Work& work, std::size_t zone, int run_s) {
    ZoneGuard& guard = work.state.zones[zone].guard;
    guard.ended = work.now;
    work.state.guards.last_closed = work.now;
    work.state.guards.last_zone = work.setup.garden.zones[zone].id;
    if (run_s <= 0) return;
    std::erase_if(guard.poured,
                  [&](const Poured& p) { return work.now.mono - p.end.mono >= kDay; });
    const double rate_mm_per_h = counted_rate_mm_per_h(work.setup, work.state, zone);
    guard.poured.push_back({work.now, run_s * rate_mm_per_h / 3600.0});
}

} // namespace

// Of a run that has ended: what the zone, the day and the interlocks keep of it.
void account(Work& work, std::size_t zone, const Cycle& c) {
    ZoneRuntime& z = work.state.zones[zone];
    remember(work, zone, c.run_s);
    if (c.run_s > 0) {
        z.last_wetted = c.end;
        z.dried_mm = 0;
        z.reported_dry = false;
        add_to_day(work, zone, c.depth_mm, c.volume_l);
    } else {
        give_back(z, c);
    }
}

namespace {

// Writes the cycle down and forgets it.
void finish(Work& work, std::size_t zone, int run_s, Outcome outcome) {
    ZoneRuntime& z = work.state.zones[zone];
    const garden::Zone& garden_zone = work.setup.garden.zones[zone];
    const OpenCycle cycle = *z.open;
    z.open.reset();
    Cycle c;
    c.id = cycle.id;
    c.zone = garden_zone.id;
    c.start = cycle.wall_start;
    c.end = cycle.wall_start + Seconds{run_s};
    c.planned_s = cycle.planned_s;
    c.run_s = run_s;
    c.depth_mm = run_s * own_spec(work.setup, work.state, zone).rate_mm_per_h / 3600.0;
    c.volume_l = c.depth_mm * garden_zone.area_m2;
    c.reason = cycle.reason;
    c.outcome = outcome;
    for (Applied& a : z.applied)
        if (!a.to && run_s > 0) a.to = c.end;
    std::erase_if(z.applied, [](const Applied& a) { return !a.to; });
    // Also one that never answered: it may have opened. One that waited for the master valve has
    // not been asked.
    if (cycle.stage == OpenCycle::Stage::priming)
        give_back(z, c);
    else
        account(work, zone, c);
    if (run_s > 0 && (outcome == Outcome::completed || outcome == Outcome::stopped))
        learn_flow(work, zone);
    work.record(std::move(c));
    work.replan = true;
}

void back_off(Work& work, std::size_t zone) {
    ZoneRuntime& z = work.state.zones[zone];
    z.faults = std::min(z.faults + 1, kMostDoublings);
    z.not_before = work.now.wall + kFaultRest * (1 << (z.faults - 1));
}

// How long the open cycle has run when it is told to be closed.
int ran_s(const Work& work, const ZoneRuntime& z, const ValveReport& report) {
    if (!has_opened(z)) return 0;
    const MonoTime end = std::min(report.since.value_or(work.now.mono), work.now.mono);
    return std::max(whole_seconds(end - z.open->mono_start), 0);
}

void fail(Work& work, std::size_t zone, int run_s, const std::string& detail) {
    ZoneRuntime& z = work.state.zones[zone];
    finish(work, zone, run_s, Outcome::failed);
    back_off(work, zone);
    work.result.commands.push_back(CloseValve{work.setup.garden.zones[zone].id});
    work.notify(work.setup.garden.zones[zone].id, Severity::alarm, "valve_fault",
                "The valve of " + work.setup.garden.zones[zone].name + " did not obey (" + detail +
                    "); it is told to close and left alone until " +
                    watering::clock_words(z.not_before, work.setup.timezone, work.now.wall) + ".");
}

void confirm_open(Work& work, ZoneRuntime& z) {
    z.open->stage = OpenCycle::Stage::running;
    z.open->wall_start = work.now.wall;
    z.open->mono_start = work.now.mono;
    z.applied.push_back({work.now.wall, std::nullopt});
}

// The driver cannot close it: water runs on and is counted, the tap's flow stays taken, and
// tend_valves() asks again until it is closed.
void stays_open(Work& work, std::size_t zone, const std::string& detail) {
    ZoneRuntime& z = work.state.zones[zone];
    if (z.open->stage == OpenCycle::Stage::opening || z.open->stage == OpenCycle::Stage::priming)
        confirm_open(work, z);
    if (z.open->stage != OpenCycle::Stage::closing) close_valve(work, zone, Outcome::failed);
    z.open->outcome = Outcome::failed;
    z.open->asked = work.now.mono;
    alarm_of(work, zone, "valve_stuck",
             "The valve of " + work.setup.garden.zones[zone].name + " cannot be closed (" + detail +
                 "); it is told again every few seconds: shut the water off by hand.");
}

// Open although nobody asked: told to close; when the driver cannot, held like an opening of ours.
void found_open(Work& work, std::size_t zone, const ValveReport& report) {
    alarm_of(work, zone, "valve_open_unasked",
             "A valve was found open that should be closed; it is told to close.");
    if (!report.fault) {
        work.result.commands.push_back(CloseValve{report.zone});
        return;
    }
    ZoneRuntime& z = work.state.zones[zone];
    OpenCycle cycle;
    cycle.id = work.state.next_cycle_id++;
    cycle.reason = "unasked";
    z.open = std::move(cycle);
    confirm_open(work, z);
    z.open->stage = OpenCycle::Stage::closing;
    stays_open(work, zone, report.detail);
}

} // namespace

double open_flow_l_per_min(const Setup& setup, const State& state) {
    double sum = 0;
    for (std::size_t i = 0; i < state.zones.size(); ++i)
        if (state.zones[i].open) sum += setup.garden.zones[i].flow_l_per_min();
    return sum;
}

void alarm(Work& work, const std::string& zone_id, const std::string& code, std::string text) {
    if (!told_lately(work, zone_id, code))
        work.notify(zone_id, Severity::alarm, code, std::move(text));
}

std::optional<watering::Bar> open_valve(Work& work, std::size_t zone, int run_s,
                                        std::string reason) {
    const Asker asker =
        reason == watering::key(watering::Reason::person) ? Asker::person : Asker::plan;
    if (auto bar = rule_on(work.setup, work.state, work.now, zone, run_s, asker)) return bar;
    ZoneRuntime& z = work.state.zones[zone];
    z.guard.run_l = 0;
    z.guard.run_min = 0;
    z.guard.told_little = false;
    OpenCycle cycle;
    cycle.id = work.state.next_cycle_id++;
    cycle.planned_s = run_s;
    cycle.reason = std::move(reason);
    cycle.wall_start = work.now.wall;
    cycle.mono_start = work.now.mono;
    cycle.asked = work.now.mono;
    z.open = std::move(cycle);
    z.next_start.reset();
    if (work.setup.garden.master) {
        z.open->stage = OpenCycle::Stage::priming; // tend_supply() opens it
        return std::nullopt;
    }
    work.result.commands.push_back(
        OpenValve{work.setup.garden.zones[zone].id, Seconds{run_s} + kLeaseGrace});
    return std::nullopt;
}

void close_valve(Work& work, std::size_t zone, Outcome outcome) {
    OpenCycle& cycle = *work.state.zones[zone].open;
    if (cycle.stage != OpenCycle::Stage::closing) cycle.outcome = outcome;
    // An opening that was never confirmed is closed all the same.
    cycle.stage = OpenCycle::Stage::closing;
    cycle.asked = work.now.mono;
    work.result.commands.push_back(CloseValve{work.setup.garden.zones[zone].id});
}

void take_report(Work& work, std::size_t zone, const ValveReport& report) {
    ZoneRuntime& z = work.state.zones[zone];
    if (!z.open) {
        if (report.open) found_open(work, zone, report);
        return;
    }
    if (report.fault) {
        const std::string detail = report.detail.empty() ? "no reason given" : report.detail;
        if (report.open)
            stays_open(work, zone, detail);
        else
            fail(work, zone, ran_s(work, z, report), detail);
        return;
    }
    const OpenCycle::Stage stage = z.open->stage;
    if (report.open) {
        if (stage != OpenCycle::Stage::opening && stage != OpenCycle::Stage::priming) return;
        confirm_open(work, z);
        z.faults = 0;
        return;
    }
    // The answer to an older order to close, overtaken by the one to open.
    if (stage == OpenCycle::Stage::opening || stage == OpenCycle::Stage::priming) return;
    const Outcome outcome =
        stage == OpenCycle::Stage::closing ? z.open->outcome : Outcome::interrupted;
    finish(work, zone, ran_s(work, z, report), outcome);
    if (outcome == Outcome::failed) back_off(work, zone);
}

void end_after_restart(Work& work, std::size_t zone) {
    ZoneRuntime& z = work.state.zones[zone];
    if (!z.open) return;
    const auto since = (work.now.wall - z.open->wall_start).count();
    const int ran =
        has_opened(z) ? static_cast<int>(std::clamp<std::int64_t>(since, 0, z.open->planned_s)) : 0;
    finish(work, zone, ran, Outcome::interrupted);
    // The rest after a run was for a run that came to its end.
    z.not_before = work.now.wall;
}

void tend_valves(Work& work) {
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        ZoneRuntime& z = work.state.zones[i];
        if (!z.open) continue;
        if (z.open->stage == OpenCycle::Stage::running) {
            if (work.now.mono >= z.open->mono_start + Seconds{z.open->planned_s})
                close_valve(work, i, Outcome::completed);
        } else if (z.open->stage != OpenCycle::Stage::priming &&
                   work.now.mono >= z.open->asked + kAnswerWithin) {
            if (z.open->stage == OpenCycle::Stage::opening) {
                fail(work, i, 0, "it did not answer");
            } else {
                // One that said that it cannot has its alarm.
                if (!told_lately(work, work.setup.garden.zones[i].id, "valve_stuck"))
                    alarm_of(work, i, "valve_silent",
                             "The valve of " + work.setup.garden.zones[i].name +
                                 " did not answer the order to close; it is asked again.");
                close_valve(work, i, z.open->outcome);
            }
        }
    }
}

} // namespace firstmow::engine
