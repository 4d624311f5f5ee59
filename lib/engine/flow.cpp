// What the flow meter says about valves, pipe and pump.
//
// The usual flow of a zone is learned from its own runs: of each that ran alone and to its end, the
// litres over the minutes after the pipe has filled. The first stands for itself when it lies
// between a third and three times what area and rate ask for; each further one moves the estimate
// by 1/n of the difference, at least an eighth, at most a fifth of the estimate. So it is their
// mean for eight runs, then follows slowly; a run that raised an alarm teaches nothing.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include "base/text.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

using garden::Sensor;

constexpr Seconds kPipeFills{30};
constexpr Seconds kWindow{20};
constexpr Seconds kKeep{120};
constexpr Seconds kLeakWindow{60};
constexpr Seconds kAfterClosing{30}; // heads drain, the meter runs out
constexpr int kLearned = 3;          // runs
constexpr double kUnlearned = 2;     // times what area and rate ask for is too much

double usual_of(const Work& work, std::size_t zone) {
    const ZoneGuard& guard = work.state.zones[zone].guard;
    return guard.flow_runs >= 1 ? guard.usual_l_per_min
                                : work.setup.garden.zones[zone].flow_l_per_min();
}

double minutes(Millis span) {
    return static_cast<double>(span.count()) / 60000.0;
}

struct Flowing {
    std::vector<std::size_t> zones; // that run
    MonoTime since;                 // the youngest of them opened
    bool others = false;            // valves that are on their way
};
Flowing flowing(const Work& work) {
    Flowing f;
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        const auto& open = work.state.zones[i].open;
        if (!open) continue;
        if (open->stage != OpenCycle::Stage::running) {
            f.others = true;
            continue;
        }
        f.zones.push_back(i);
        f.since = std::max(f.since, open->mono_start);
    }
    return f;
}

// L/min over the last `window` and no earlier than `from`; none when that is not known yet.
std::optional<double> rate(const Guards& g, Seconds window, MonoTime from) {
    if (g.counts.empty()) return std::nullopt;
    const Count& last = g.counts.back();
    for (auto c = g.counts.rbegin(); c != g.counts.rend(); ++c) {
        if (c->at < from) return std::nullopt;
        if (last.at - c->at < window) continue;
        return (last.litres - c->litres) / minutes(last.at - c->at);
    }
    return std::nullopt;
}

std::string names(const Work& work, const std::vector<std::size_t>& zones) {
    std::string text;
    for (const std::size_t i : zones)
        text += (text.empty() ? "" : " and ") + work.setup.garden.zones[i].name;
    return text;
}

// Closes zones and locks them until a person unlocks them.
void lock(Work& work, const std::vector<std::size_t>& zones, const std::string& code,
          const std::string& what, const std::string& why) {
    for (const std::size_t i : zones) {
        ZoneRuntime& z = work.state.zones[i];
        z.guard.lock = Latch{work.now.wall, why};
        z.guard.run_min = 0; // teaches nothing
        z.ordered_s = 0;
        z.owed_s = 0;
        if (z.open) close_valve(work, i, Outcome::failed);
    }
    alarm(work, zones.size() == 1 ? work.setup.garden.zones[zones.front()].id : "", code,
          what + "; " + names(work, zones) + " is closed and locked until a person ends its hold.");
    work.replan = true;
}

void judge_running(Work& work, const Sensor& meter, const Flowing& f) {
    Guards& g = work.state.guards;
    double usual = 0;
    bool learned = true;
    for (const std::size_t i : f.zones) {
        usual += usual_of(work, i);
        learned = learned && work.state.zones[i].guard.flow_runs >= kLearned;
    }
    // A coarse meter needs time for a pulse.
    const Seconds pulse{static_cast<std::int64_t>(3 * 60 * meter.scale / usual)};
    const MonoTime last_growth = std::max(g.dry_since.value_or(f.since), f.since);
    const Millis dry = work.now.mono - last_growth;
    if (g.pump.stage == SupplyLine::Stage::open) {
        const Seconds limit{work.setup.garden.pump->dry_after_s};
        const Millis pumped = work.now.mono - g.pump.since.mono;
        if (std::min(dry, pumped) >= std::max(limit, pulse)) {
            latch_stop(work, "the pump ran without any flow");
            return;
        }
    }
    if (dry >= std::max(Seconds{meter.no_flow_after_s}, pulse)) {
        lock(work, f.zones, "no_flow", "A valve is open and nothing flows",
             "nothing flowed when it was open");
        return;
    }
    const auto now = rate(g, std::max(kWindow, pulse), f.since + kPipeFills);
    if (!now || f.others) return;
    const double most = usual * (learned ? meter.too_much : std::max(kUnlearned, meter.too_much));
    const double grain = meter.scale / minutes(std::max(kWindow, pulse));
    if (*now > most + grain) {
        lock(work, f.zones, "too_much_flow",
             "More flows (" + fixed(*now, 1) + " L/min) than is usual (" + fixed(usual, 1) +
                 " L/min): a pipe or a sprinkler may have broken",
             "more flowed than is usual");
        return;
    }
    if (learned && *now < usual * meter.too_little - grain)
        for (const std::size_t i : f.zones) {
            if (std::exchange(work.state.zones[i].guard.told_little, true)) continue;
            work.notify(work.setup.garden.zones[i].id, Severity::warning, "too_little_flow",
                        "Less flows (" + fixed(*now, 1) + " L/min) than is usual (" +
                            fixed(usual, 1) + " L/min) on " + names(work, f.zones) +
                            ": a filter or a sprinkler may be clogged.");
        }
}

void judge_closed(Work& work, const Sensor& meter) {
    Guards& g = work.state.guards;
    if (g.master.stage != SupplyLine::Stage::closed) return;
    const MonoTime from = g.last_closed ? g.last_closed->mono + kAfterClosing : MonoTime::min();
    const auto now = rate(g, kLeakWindow, from);
    const double grain = meter.scale / minutes(kLeakWindow);
    if (!now || *now <= std::max(meter.leak_l_per_min, 1.5 * grain)) return;
    for (const garden::Output& output : garden::outputs(work.setup.garden))
        work.result.commands.push_back(CloseValve{output.name});
    const auto last = work.zone_index(g.last_zone);
    const std::string what =
        "Water flows (" + fixed(*now, 1) + " L/min) although every valve is closed";
    if (last && !work.state.zones[*last].guard.lock) {
        lock(work, {*last}, "leak", what, "water flowed on after it was closed");
    } else {
        alarm(work, last ? g.last_zone : "", "leak", what + "; each is told to close again.");
    }
    g.counts.clear();
}

} // namespace

void flow_counted(Work& work, const Sensor& meter, double litres) {
    Guards& g = work.state.guards;
    if (!g.counts.empty() && litres < g.counts.back().litres) {
        g.counts.clear(); // its counter has begun anew
        g.dry_since = work.now.mono;
    }
    const bool grown = !g.counts.empty() && litres > g.counts.back().litres;
    const Flowing f = flowing(work);
    if (grown) {
        g.dry_since = work.now.mono;
        const Count& before = g.counts.back();
        if (f.zones.size() == 1 && !f.others && before.at >= f.since + kPipeFills) {
            ZoneGuard& guard = work.state.zones[f.zones.front()].guard;
            guard.run_l += litres - before.litres;
            guard.run_min += minutes(work.now.mono - before.at);
        }
        g.counts.push_back({work.now.mono, litres});
    } else if (g.counts.empty() || work.now.mono - g.counts.back().at >= Seconds{2}) {
        g.counts.push_back({work.now.mono, litres});
    }
    std::erase_if(g.counts, [&](const Count& c) { return work.now.mono - c.at > kKeep; });
    if (!f.zones.empty())
        judge_running(work, meter, f);
    else if (!f.others)
        judge_closed(work, meter);
}

void learn_flow(Work& work, std::size_t zone) {
    ZoneGuard& guard = work.state.zones[zone].guard;
    const auto& sensors = work.setup.garden.sensors;
    const auto meter = std::find_if(sensors.begin(), sensors.end(), [](const Sensor& s) {
        return s.kind == garden::SensorKind::flow_meter;
    });
    // Long enough, and enough pulses, that the beginning and end of one are little.
    if (meter == sensors.end() || guard.run_min < 1 || guard.run_l < 5 * meter->scale) return;
    const double q = guard.run_l / guard.run_min;
    const double asked = work.setup.garden.zones[zone].flow_l_per_min();
    guard.run_min = 0;
    if (guard.flow_runs == 0) {
        if (q < asked / 3 || q > asked * 3) return;
        guard.usual_l_per_min = q;
    } else {
        const double weight = std::max(1.0 / (guard.flow_runs + 1), 1.0 / 8);
        const double most = guard.usual_l_per_min / 5;
        guard.usual_l_per_min += std::clamp((q - guard.usual_l_per_min) * weight, -most, most);
    }
    guard.flow_runs = std::min(guard.flow_runs + 1, 1000);
}

} // namespace firstmow::engine
