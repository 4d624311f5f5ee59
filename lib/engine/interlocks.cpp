#include "engine/interlocks.hpp"

#include "engine/parts.hpp"
#include "watering/explain.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

using watering::Bar;
using watering::Reason;

constexpr Seconds kDay{86400};
constexpr Seconds kStuck{48 * 3600};
// The pump runs this much longer than a zone, at most: it starts after and stops before it, but one
// that runs on from another zone waits for the next, and drivers may be slow.
constexpr int kPumpSlack_s = 20;
// The keeper ends an opening after 8 h, whatever is asked of it (SAFE-14).
constexpr Seconds kMasterLongest{7 * 3600};
constexpr int kMostSupplyDoublings = 5;
constexpr int kSupplyRest_s = 300;
// A seedbed that dries out does not wait longer for a rain switch: its discs stay wet for hours
// after a shower that has not wetted the seed (common practice, no source).
constexpr Seconds kSeedbedWaitsForSwitch{2 * 3600};
// A switch that is wet for so long is stuck (common practice, no source).
constexpr Seconds kSwitchStuck{48 * 3600};

WallTime after(const Moment& now, Seconds span) {
    return now.wall + span;
}

double poured_mm(const ZoneRuntime& z, const Moment& now) {
    double sum = 0;
    for (const Poured& p : z.guard.poured)
        if (now.mono - p.end.mono < kDay) sum += p.mm;
    return sum;
}

// When so much has left the last 24 h that `mm` more is allowed.
WallTime room_at(const ZoneRuntime& z, const Moment& now, double mm, double most_mm) {
    double sum = poured_mm(z, now);
    for (const Poured& p : z.guard.poured) {
        if (now.mono - p.end.mono >= kDay) continue;
        sum -= p.mm;
        const Millis left = kDay - (now.mono - p.end.mono);
        if (sum + mm <= most_mm + 1e-9) return now.wall + std::chrono::ceil<Seconds>(left);
    }
    return now.wall + kDay;
}

Bar latched(Reason reason, const Latch& latch) {
    return {reason, std::nullopt, latch.why};
}

const SensorState* heard_of(const Setup& setup, const State& state, const Moment& now,
                            std::size_t index) {
    if (index >= state.guards.sensors.size()) return nullptr;
    const SensorState& s = state.guards.sensors[index];
    // Air and soil never stay the same to the digit for so long: that sensor is stuck.
    const bool moves = setup.garden.sensors[index].kind == garden::SensorKind::thermometer;
    if (moves && s.changed && now.mono - s.changed->mono > kStuck) return nullptr;
    const Seconds silent{setup.garden.sensors[index].silent_after_s};
    if (!s.heard || now.mono - s.heard->mono > silent) return nullptr;
    return &s;
}

// The coldest that is known of air and of the zone's soil; `ends` is when the run would end.
bool freezes(const Setup& setup, const State& state, const Moment& now, std::size_t zone,
             WallTime ends, Asker asker) {
    const double limit = setup.garden.interlocks.frost_c;
    bool air_measured = false;
    for (std::size_t i = 0; i < setup.garden.sensors.size(); ++i) {
        const garden::Sensor& sensor = setup.garden.sensors[i];
        if (sensor.kind != garden::SensorKind::thermometer) continue;
        if (!sensor.zone.empty() && sensor.zone != setup.garden.zones[zone].id) continue;
        const SensorState* const heard = heard_of(setup, state, now, i);
        if (heard == nullptr) continue;
        if (heard->value <= limit) return true;
        air_measured = air_measured || sensor.zone.empty();
    }
    const weather::Hour hour = think_of(setup, state, floor_hour(now.wall));
    // Nobody is refused for a guess.
    const bool guessed = hour.temp_origin == weather::Origin::assumed && asker == Asker::person;
    if (!air_measured && !guessed && hour.air_temp_c <= limit) return true;
    return asker == Asker::plan && think_of(setup, state, floor_hour(ends)).air_temp_c <= limit;
}

bool too_windy(const Setup& setup, const State& state, WallTime at) {
    const auto& limit = setup.garden.interlocks.wind_m_s;
    return limit && think_of(setup, state, floor_hour(at)).wind_2m_m_s > *limit;
}

std::optional<Bar> wet_switch(const Setup& setup, const State& state, const Moment& now,
                              std::size_t zone) {
    for (std::size_t i = 0; i < setup.garden.sensors.size(); ++i) {
        if (setup.garden.sensors[i].kind != garden::SensorKind::rain_switch) continue;
        const SensorState* const heard = heard_of(setup, state, now, i);
        if (heard == nullptr || heard->value < 0.5 || !heard->changed) continue;
        const Millis wet = now.mono - heard->changed->mono;
        const turf::Needs needs = turf::needs(state.zones[zone].settled.progress, now.wall);
        const Seconds patience = needs.judge_root_zone ? kSwitchStuck : kSeedbedWaitsForSwitch;
        if (wet >= patience) continue;
        return Bar{Reason::rain_switch, after(now, std::chrono::ceil<Seconds>(patience - wet)), ""};
    }
    return std::nullopt;
}

std::optional<Bar> supply_bar(const Setup& setup, const State& state, const Moment& now,
                              int run_s) {
    const Guards& g = state.guards;
    const int rest_s = kSupplyRest_s << std::min(g.supply_faults, kMostSupplyDoublings);
    if (const Seconds left = rest_left(g.supply_failed, rest_s, now); left > Seconds{0})
        return Bar{Reason::supply_fault, after(now, left), ""};
    if (setup.garden.master) {
        const bool open = g.master.stage == SupplyLine::Stage::open;
        if (g.master.stage == SupplyLine::Stage::closing ||
            (open && now.mono - g.master.since.mono + Seconds{run_s} > kMasterLongest))
            return Bar{Reason::supply_fault, after(now, Seconds{60}), ""};
    }
    if (!setup.garden.pump) return std::nullopt;
    const garden::Pump& pump = *setup.garden.pump;
    switch (g.pump.stage) {
    case SupplyLine::Stage::open:
    case SupplyLine::Stage::opening:
        if (now.mono - g.pump.since.mono + Seconds{run_s + kPumpSlack_s} <= Seconds{pump.longest_s})
            return std::nullopt;
        return Bar{Reason::pump_rest, after(now, Seconds{60}), ""};
    case SupplyLine::Stage::closing:
        return Bar{Reason::pump_rest, after(now, Seconds{60}), ""};
    case SupplyLine::Stage::closed:
        break;
    }
    if (const Seconds left = rest_left(g.pump_started, pump.rest_s, now); left > Seconds{0})
        return Bar{Reason::pump_rest, after(now, left), ""};
    return std::nullopt;
}

// The rules that hold whatever the length.
std::optional<Bar> standing(const State& state, std::size_t zone, Asker asker) {
    const Guards& g = state.guards;
    if (g.stop) return latched(Reason::emergency_stop, *g.stop);
    if (state.zones[zone].guard.lock) return latched(Reason::locked, *state.zones[zone].guard.lock);
    if (!g.clock_trusted && asker == Asker::plan) return Bar{Reason::clock_untrusted, {}, ""};
    return std::nullopt;
}

} // namespace

double counted_rate_mm_per_h(const Setup& setup, const State& state, std::size_t zone) {
    return std::max(setup.garden.zones[zone].precipitation_rate_mm_per_h,
                    own_spec(setup, state, zone).rate_mm_per_h);
}

Seconds rest_left(const std::optional<Moment>& mark, int rest_s, const Moment& now) {
    if (!mark) return Seconds{0};
    const Millis left = mark->mono + Seconds{rest_s} - now.mono;
    return std::chrono::ceil<Seconds>(std::clamp<Millis>(left, Millis{0}, Seconds{rest_s}));
}

bool passes_soon(Reason reason) {
    return reason == Reason::tap_busy || reason == Reason::zones_at_once ||
           reason == Reason::zone_rest || reason == Reason::pump_rest ||
           reason == Reason::supply_fault;
}

int longest_allowed_s(const Setup& setup, const State& state, const Moment& now, std::size_t zone) {
    const garden::Zone& z = setup.garden.zones[zone];
    int longest = z.longest_run_s;
    if (setup.garden.pump) longest = std::min(longest, setup.garden.pump->longest_s - kPumpSlack_s);
    const double mm = setup.garden.most_per_day_mm(z) - poured_mm(state.zones[zone], now);
    const double room_s = std::max(mm, 0.0) * 3600.0 / counted_rate_mm_per_h(setup, state, zone);
    return std::min(longest, static_cast<int>(std::min(room_s + 1e-6, 1e6)));
}

std::optional<Bar> rule_on(const Setup& setup, const State& state, const Moment& now,
                           std::size_t zone, int run_s, Asker asker) {
    const garden::Garden& garden = setup.garden;
    const garden::Zone& z = garden.zones[zone];
    const ZoneRuntime& runtime = state.zones[zone];
    if (auto bar = standing(state, zone, asker)) return bar;
    const int longest = std::min(
        z.longest_run_s, garden.pump ? garden.pump->longest_s - kPumpSlack_s : z.longest_run_s);
    if (run_s > longest)
        return Bar{Reason::longest_run, std::nullopt, watering::duration_words(longest)};
    const double mm = run_s * counted_rate_mm_per_h(setup, state, zone) / 3600.0;
    const double most_mm = garden.most_per_day_mm(z);
    if (poured_mm(runtime, now) + mm > most_mm + 1e-6)
        return Bar{Reason::day_full, room_at(runtime, now, mm, most_mm), ""};
    if (freezes(setup, state, now, zone, now.wall + Seconds{run_s}, asker))
        return Bar{Reason::frost, std::nullopt, ""};
    if (asker == Asker::plan) {
        if (too_windy(setup, state, now.wall)) return Bar{Reason::wind, std::nullopt, ""};
        if (auto bar = wet_switch(setup, state, now, zone)) return bar;
    }
    if (runtime.open) {
        // It runs: only its length is new. A pump that has stopped cannot start at once again.
        if (garden.pump && state.guards.pump.stage != SupplyLine::Stage::open)
            return Bar{Reason::pump_rest, after(now, Seconds{60}), ""};
        const Millis ran = now.mono - runtime.open->mono_start;
        const int more = run_s - static_cast<int>(std::chrono::floor<Seconds>(ran).count());
        return supply_bar(setup, state, now, std::max(more, 0));
    }
    if (const Seconds left =
            rest_left(runtime.guard.ended, garden.interlocks.rest_between_runs_s, now);
        left > Seconds{0})
        return Bar{Reason::zone_rest, after(now, left), ""};
    const auto open = std::count_if(state.zones.begin(), state.zones.end(),
                                    [](const ZoneRuntime& r) { return r.open.has_value(); });
    if (open >= garden.interlocks.zones_at_once)
        return Bar{Reason::zones_at_once, std::nullopt, ""};
    if (open_flow_l_per_min(setup, state) + z.flow_l_per_min() >
        garden.supply.flow_l_per_min + 1e-9)
        return Bar{Reason::tap_busy, std::nullopt, ""};
    return supply_bar(setup, state, now, run_s);
}

std::optional<Bar> plan_bar(const Setup& setup, const State& state, const Moment& now,
                            std::size_t zone) {
    const garden::Zone& z = setup.garden.zones[zone];
    const ZoneRuntime& runtime = state.zones[zone];
    if (auto bar = standing(state, zone, Asker::plan)) return bar;
    std::optional<Bar> latest;
    const auto consider = [&](std::optional<Bar> bar) {
        if (bar && bar->until && (!latest || *bar->until > *latest->until)) latest = std::move(bar);
    };
    if (longest_allowed_s(setup, state, now, zone) < z.shortest_run_s) {
        const double mm = z.shortest_run_s * counted_rate_mm_per_h(setup, state, zone) / 3600.0;
        consider(
            Bar{Reason::day_full, room_at(runtime, now, mm, setup.garden.most_per_day_mm(z)), ""});
    }
    consider(wet_switch(setup, state, now, zone));
    if (runtime.open) return latest;
    if (const Seconds left =
            rest_left(runtime.guard.ended, setup.garden.interlocks.rest_between_runs_s, now);
        left > Seconds{0})
        consider(Bar{Reason::zone_rest, after(now, left), ""});
    consider(supply_bar(setup, state, now, z.shortest_run_s));
    return latest;
}

void carry_over(State& state, const Moment& now) {
    constexpr Seconds kLongAgo{30 * 86400};
    const auto anew = [&](Moment& mark) {
        const Seconds since = std::clamp<Seconds>(now.wall - mark.wall, Seconds{0}, kLongAgo);
        mark.mono = now.mono - since;
    };
    const auto maybe = [&](std::optional<Moment>& mark) {
        if (mark) anew(*mark);
    };
    Guards& g = state.guards;
    // Every output is closed at a start.
    g.master = {};
    g.pump = {};
    maybe(g.pump_started);
    maybe(g.last_closed);
    maybe(g.supply_failed);
    for (SensorState& sensor : g.sensors) {
        // What fell or flowed meanwhile nobody has counted, and a level must be heard anew.
        sensor.heard.reset();
        maybe(sensor.changed);
    }
    g.counts.clear();
    g.dry_since.reset();
    for (ZoneRuntime& z : state.zones) {
        maybe(z.guard.ended);
        for (Poured& p : z.guard.poured)
            anew(p.end);
    }
}

} // namespace firstmow::engine
