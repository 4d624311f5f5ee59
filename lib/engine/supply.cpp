// Master valve and pump: what stands between the tap and the zones' valves.
//
// Opening: master valve, `lead` later the zone, then the pump. Closing: the pump a moment before
// the last zone, the zone, `lag` later the master valve. So a pump never works against closed
// valves for longer than a change of zones, and no valve closes on a pump that pushes.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

using Stage = SupplyLine::Stage;

// From one zone to the next that follows at once, master valve and pump stay as they are.
constexpr Seconds kChange{10};
// Beyond what is needed, for drivers that are slow and answers that are late.
constexpr Seconds kSlack{20};
constexpr int kMostFaults = 5;

bool is_pump(const Work& work, const SupplyLine& line) {
    return &line == &work.state.guards.pump;
}
const char* name_of(const Work& work, const SupplyLine& line) {
    return is_pump(work, line) ? garden::kPump : garden::kMasterValve;
}
const char* words_for(const Work& work, const SupplyLine& line) {
    return is_pump(work, line) ? "The pump" : "The master valve";
}

bool on(const SupplyLine& line) {
    return line.stage == Stage::open || line.stage == Stage::opening;
}

Seconds left_of(const Work& work, const OpenCycle& cycle) {
    const Millis left = cycle.stage == OpenCycle::Stage::running
                            ? cycle.mono_start + Seconds{cycle.planned_s} - work.now.mono
                            : Seconds{cycle.planned_s};
    return std::max(std::chrono::ceil<Seconds>(left), Seconds{0});
}

struct Need {
    bool any = false;     // a zone's valve is open or on its way
    bool running = false; // one is open by plan
    bool coming = false;  // one is on its way to open
    Seconds longest{0};   // of what is left of any
};
Need need_of(const Work& work) {
    Need need;
    for (const ZoneRuntime& z : work.state.zones) {
        if (!z.open) continue;
        need.any = true;
        if (z.open->stage == OpenCycle::Stage::closing) continue;
        const bool running = z.open->stage == OpenCycle::Stage::running;
        need.running = need.running || running;
        need.coming = need.coming || !running;
        need.longest = std::max(need.longest, left_of(work, *z.open));
    }
    return need;
}

// Whether another zone will open right after `after` from now.
bool another_follows(const Work& work, Seconds after) {
    if (work.state.guards.stop) return false;
    const WallTime until = work.now.wall + after + kChange;
    return std::any_of(work.state.zones.begin(), work.state.zones.end(), [&](const ZoneRuntime& z) {
        return !z.open && (z.ordered_s > 0 || (z.next_start && *z.next_start <= until));
    });
}

void command_open(Work& work, SupplyLine& line, Seconds lease) {
    line.asked = work.now.mono;
    line.lease_end = work.now.mono + lease;
    work.result.commands.push_back(OpenValve{name_of(work, line), lease});
}

void command_close(Work& work, SupplyLine& line) {
    line.stage = Stage::closing;
    line.since = work.now;
    line.asked = work.now.mono;
    work.result.commands.push_back(CloseValve{name_of(work, line)});
}

// SAFE-39, SAFE-40: what cannot be had closes everything and rests.
void fail_supply(Work& work, SupplyLine& line, const std::string& detail) {
    Guards& g = work.state.guards;
    g.supply_failed = work.now;
    g.supply_faults = std::min(g.supply_faults + 1, kMostFaults);
    for (SupplyLine* other : {&g.pump, &g.master})
        if (on(*other)) command_close(work, *other);
    close_zones(work, Outcome::failed);
    alarm(work, "", is_pump(work, line) ? "pump_fault" : "master_valve_fault",
          std::string(words_for(work, line)) + " did not obey (" + detail +
              "); everything is told to close.");
    work.replan = true;
}

// Keeps a line open until `need` from now; renewed in good time, not at every step.
void keep_open(Work& work, SupplyLine& line, Seconds need) {
    if (line.stage == Stage::closed) {
        line.stage = Stage::opening;
        line.since = work.now;
        if (is_pump(work, line)) work.state.guards.pump_started = work.now;
        command_open(work, line, need + kSlack);
    } else if (on(line) && line.lease_end < work.now.mono + need) {
        command_open(work, line, need + kSlack);
    }
}

// Asks again where one is silent.
void ask_again(Work& work, SupplyLine& line) {
    if (work.now.mono < line.asked + kAnswerWithin) return;
    if (line.stage == Stage::opening) {
        fail_supply(work, line, "it did not answer");
    } else if (line.stage == Stage::closing) {
        alarm(work, "", is_pump(work, line) ? "pump_silent" : "master_valve_silent",
              std::string(words_for(work, line)) +
                  " did not answer the order to close; it is asked again.");
        command_close(work, line);
    }
}

void open_primed(Work& work) {
    const Guards& g = work.state.guards;
    const Seconds lead{work.setup.garden.master->lead_s};
    if (g.master.stage != Stage::open || work.now.mono < g.master.since.mono + lead) return;
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        auto& cycle = work.state.zones[i].open;
        if (!cycle || cycle->stage != OpenCycle::Stage::priming) continue;
        cycle->stage = OpenCycle::Stage::opening;
        cycle->asked = work.now.mono;
        work.result.commands.push_back(
            OpenValve{work.setup.garden.zones[i].id, Seconds{cycle->planned_s} + kLeaseGrace});
    }
}

void tend_pump(Work& work, const Need& need) {
    Guards& g = work.state.guards;
    const garden::Pump& pump = *work.setup.garden.pump;
    const Seconds before{pump.stop_before_s};
    if (on(g.pump) && work.now.mono - g.pump.since.mono >= Seconds{pump.longest_s}) {
        close_zones(work, Outcome::interrupted);
        command_close(work, g.pump);
        alarm(work, "", "pump_longest",
              "The pump has run as long as it may without a stop; everything is closed and it "
              "rests.");
        return;
    }
    const bool follows = need.coming || another_follows(work, need.longest);
    const bool wanted = need.running && (need.longest > before || follows);
    const bool bridged =
        on(g.pump) && follows &&
        (need.any || (g.last_closed && work.now.mono < g.last_closed->mono + kChange));
    const Seconds most = std::chrono::floor<Seconds>(
        on(g.pump) ? g.pump.since.mono + Seconds{pump.longest_s} - work.now.mono
                   : Millis{Seconds{pump.longest_s}});
    if (wanted && g.pump.stage == Stage::closed &&
        rest_left(g.pump_started, pump.rest_s, work.now) > Seconds{0}) {
        // Cannot be, as rule_on() forbade it; water without its pump is none.
        close_zones(work, Outcome::interrupted);
    } else if (wanted || (on(g.pump) && (bridged || need.coming))) {
        keep_open(work, g.pump, std::clamp(need.longest + kChange, Seconds{1}, most));
    } else if (on(g.pump)) {
        command_close(work, g.pump);
    }
}

void tend_master(Work& work, const Need& need) {
    Guards& g = work.state.guards;
    const garden::MasterValve& master = *work.setup.garden.master;
    const bool lags =
        g.last_closed && !g.stop && work.now.mono < g.last_closed->mono + Seconds{master.lag_s};
    // Valves that are closing want no water.
    if (need.running || need.coming)
        keep_open(work, g.master, need.longest + Seconds{master.lead_s + master.lag_s} + kChange);
    else if (on(g.master) && !need.any && !lags)
        command_close(work, g.master);
}

} // namespace

void close_zones(Work& work, Outcome outcome) {
    for (std::size_t i = 0; i < work.zone_count(); ++i)
        if (work.state.zones[i].open) close_valve(work, i, outcome);
}

void take_supply_report(Work& work, SupplyLine& line, const ValveReport& report) {
    const std::string detail = report.detail.empty() ? "no reason given" : report.detail;
    const std::string code = is_pump(work, line) ? "pump" : "master_valve";
    if (report.fault && report.open) {
        if (line.stage != Stage::closing) fail_supply(work, line, detail);
        if (line.stage != Stage::closing) command_close(work, line);
        line.asked = work.now.mono;
        alarm(work, "", code + "_stuck",
              std::string(words_for(work, line)) + " cannot be closed (" + detail +
                  "); it is told again every few seconds: shut it off by hand.");
        return;
    }
    if (report.fault) {
        const bool wanted = on(line);
        if (wanted) fail_supply(work, line, detail);
        line.stage = Stage::closed;
        line.since = work.now;
        return;
    }
    if (report.open) {
        if (line.stage == Stage::opening) {
            line.stage = Stage::open;
            line.since = work.now;
            work.state.guards.supply_faults = 0;
        } else if (line.stage == Stage::closed) {
            alarm(work, "", code + "_unasked",
                  std::string(words_for(work, line)) +
                      " was found open that should be closed; it is told to close.");
            command_close(work, line);
        }
        return;
    }
    if (line.stage == Stage::opening) return; // the answer to an older order to close
    if (line.stage == Stage::open) fail_supply(work, line, "it closed by itself");
    if (line.stage == Stage::closing) work.replan = true;
    line.stage = Stage::closed;
    line.since = work.now;
}

void tend_supply(Work& work) {
    const garden::Garden& garden = work.setup.garden;
    Guards& g = work.state.guards;
    if (garden.master) ask_again(work, g.master);
    if (garden.pump) ask_again(work, g.pump);
    if (garden.master) open_primed(work);
    // The pump first: it may close zones.
    if (garden.pump) tend_pump(work, need_of(work));
    if (garden.master) tend_master(work, need_of(work));
}

MonoTime supply_wake(const Work& work) {
    const garden::Garden& garden = work.setup.garden;
    const Guards& g = work.state.guards;
    MonoTime wake = MonoTime::max();
    const auto at = [&](MonoTime t) {
        if (t > work.now.mono) wake = std::min(wake, t);
    };
    for (const SupplyLine* line : {&g.master, &g.pump})
        if (line->stage == Stage::opening || line->stage == Stage::closing)
            at(line->asked + kAnswerWithin);
    const Need need = need_of(work);
    if (garden.master && on(g.master)) {
        at(g.master.since.mono + Seconds{garden.master->lead_s});
        if (g.last_closed) at(g.last_closed->mono + Seconds{garden.master->lag_s});
    }
    if (garden.pump && on(g.pump)) {
        at(work.now.mono + need.longest - Seconds{garden.pump->stop_before_s});
        for (const ZoneRuntime& z : work.state.zones)
            if (z.open && z.open->stage == OpenCycle::Stage::running)
                at(z.open->mono_start + Seconds{z.open->planned_s - garden.pump->stop_before_s});
        if (g.last_closed) at(g.last_closed->mono + kChange);
        at(g.pump.since.mono + Seconds{garden.pump->longest_s});
    }
    return wake;
}

void latch_stop(Work& work, std::string why) {
    Guards& g = work.state.guards;
    if (!g.stop) {
        work.notify("", Severity::alarm, "emergency_stop",
                    "Everything is closed and stays closed until a person releases it: " + why +
                        ".");
        g.stop = Latch{work.now.wall, std::move(why)};
    }
    for (ZoneRuntime& z : work.state.zones) {
        z.ordered_s = 0;
        z.owed_s = 0;
    }
    close_zones(work, Outcome::stopped);
    // Also what is thought to be closed: nothing is certain in an emergency.
    for (const garden::Output& output : garden::outputs(work.setup.garden))
        work.result.commands.push_back(CloseValve{output.name});
    for (SupplyLine* line : {&g.pump, &g.master})
        if (on(*line)) command_close(work, *line);
    work.replan = true;
}

} // namespace firstmow::engine
