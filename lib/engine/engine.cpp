#include "engine/engine.hpp"

#include "base/check.hpp"
#include "engine/parts.hpp"
#include "watering/carry.hpp"
#include "weather/fill.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

constexpr std::size_t kMostNotices = 20;

// When the engine must be called again, whatever comes in.
Moment next_wake(const Work& work) {
    Moment wake{work.state.next_plan, work.now.mono + kPlanEvery};
    for (const ZoneRuntime& z : work.state.zones) {
        if (!z.open || z.open->stage == OpenCycle::Stage::priming) continue;
        const MonoTime due = z.open->stage == OpenCycle::Stage::running
                                 ? z.open->mono_start + Seconds{z.open->planned_s}
                                 : z.open->asked + kAnswerWithin;
        wake.mono = std::min(wake.mono, due);
    }
    wake.mono = std::min(wake.mono, supply_wake(work));
    wake.mono = std::min(wake.mono, work.now.mono + (work.state.next_plan - work.now.wall));
    return wake;
}

// The grass of a changed zone, where the same species were sown on the same day in the same way: it
// has come as far as it has, in the shares that are now said.
std::optional<turf::Progress> same_grass(const garden::Zone& was, const turf::Progress& grass,
                                         const garden::Zone& is) {
    const garden::Establishment& before = was.establishment;
    const garden::Establishment& after = is.establishment;
    if (before.method != after.method || before.start != after.start ||
        before.mix.size() != after.mix.size())
        return std::nullopt;
    turf::Progress kept = grass;
    if (grass.species.size() != after.mix.size()) return kept; // sod: no seed is followed
    for (std::size_t i = 0; i < after.mix.size(); ++i) {
        const auto same = std::find_if(
            grass.species.begin(), grass.species.end(),
            [&](const turf::SpeciesProgress& one) { return one.species == after.mix[i].species; });
        if (same == grass.species.end()) return std::nullopt;
        kept.species[i] = *same;
        kept.species[i].share = after.mix[i].share;
    }
    return kept;
}

ZoneRuntime fresh_zone(const garden::Zone& zone) {
    ZoneRuntime fresh;
    fresh.estimate = watering::prior(zone.rate_source);
    return fresh;
}

std::vector<SensorState> sensors_of(const garden::Garden& garden) {
    std::vector<SensorState> sensors;
    for (const garden::Sensor& sensor : garden.sensors)
        sensors.emplace_back().id = sensor.id;
    return sensors;
}

bool same_sensor(const garden::Sensor& was, const garden::Garden& after, const std::string& id) {
    return std::any_of(after.sensors.begin(), after.sensors.end(), [&](const garden::Sensor& is) {
        return is.id == id && is.kind == was.kind && is.source == was.source &&
               is.scale == was.scale && is.zone == was.zone;
    });
}

double topdressing_mm(const garden::Zone& zone) {
    return zone.topdressing ? zone.topdressing->depth_mm : 0;
}

// A zone that the new garden file still has. Its grass goes on unless something else was sown. Its
// water goes on unless it begins anew on another day; where the soil or the layers that are
// reckoned with have changed it is taken over by the pull at its depth.
ZoneRuntime carry_over(const garden::Zone& was, const watering::ZoneSpec& spec_was,
                       const ZoneRuntime& runtime, const garden::Zone& is,
                       const watering::ZoneSpec& spec_is, const ZoneRuntime& fresh) {
    if (was.establishment.method != is.establishment.method ||
        was.establishment.start != is.establishment.start)
        return fresh;
    ZoneRuntime kept = runtime;
    // What was learned of sprinklers or soil that are others now is forgotten.
    const auto forget = [&](watering::Unknown unknown) {
        kept.estimate = watering::forget(kept.estimate, unknown, fresh.estimate);
        kept.corrections.clear();
        kept.word.reset();
    };
    if (was.precipitation_rate_mm_per_h != is.precipitation_rate_mm_per_h ||
        was.rate_source != is.rate_source)
        forget(watering::Unknown::rate);
    if (was.distribution_uniformity != is.distribution_uniformity)
        forget(watering::Unknown::uniformity);
    const bool same_soil = was.ground() == is.ground() &&
                           was.establishment.seed_depth_mm == is.establishment.seed_depth_mm;
    const auto grass = same_grass(was, runtime.settled.progress, is);
    kept.settled.progress = grass.value_or(fresh.settled.progress);
    if (!grass) kept.advised = 0;
    if (!same_soil) {
        forget(watering::Unknown::intake);
        kept.settled = watering::carried(spec_was, kept.settled, spec_is,
                                         topdressing_mm(is) - topdressing_mm(was));
        kept.since_line = {};
    }
    if (!same_soil || !(kept.settled.progress == runtime.settled.progress)) {
        kept.word.reset();
        kept.past = fresh.past;
        kept.past.zone = kept.settled;
        kept.newer = kept.past;
    }
    return kept;
}

// Closing goes before opening, and in the order that is gentle to pump and pipe: the pump, zones,
// the master valve; then the master valve, zones, the pump.
void order_commands(std::vector<Command>& commands) {
    // What was opened and then closed within a step stays closed.
    std::vector<Command> kept;
    for (auto c = commands.begin(); c != commands.end(); ++c) {
        const auto* const open = std::get_if<OpenValve>(&*c);
        const bool overtaken =
            open != nullptr && std::any_of(c, commands.end(), [&](const Command& later) {
                const auto* const shut = std::get_if<CloseValve>(&later);
                return shut != nullptr && shut->zone == open->zone;
            });
        if (!overtaken) kept.push_back(std::move(*c));
    }
    commands = std::move(kept);
    const auto rank = [](const Command& command) {
        const auto* const open = std::get_if<OpenValve>(&command);
        const std::string& name = open != nullptr ? open->zone : std::get<CloseValve>(command).zone;
        const int place = name == garden::kPump ? 0 : name == garden::kMasterValve ? 2 : 1;
        return open != nullptr ? 5 - place : place;
    };
    std::stable_sort(commands.begin(), commands.end(),
                     [&](const Command& a, const Command& b) { return rank(a) < rank(b); });
}

} // namespace

void Work::notify(std::string zone, Severity severity, std::string code, std::string text) {
    Notice notice{now.wall, std::move(zone), severity, std::move(code), std::move(text)};
    state.notices.push_back(notice);
    if (state.notices.size() > kMostNotices) state.notices.erase(state.notices.begin());
    record(std::move(notice));
}

std::optional<std::size_t> Work::zone_index(const std::string& id) const {
    for (std::size_t i = 0; i < setup.garden.zones.size(); ++i)
        if (setup.garden.zones[i].id == id) return i;
    return std::nullopt;
}

Setup make_setup(garden::Garden garden, TimeZone timezone) {
    Setup setup{std::move(garden), std::move(timezone), {}};
    for (const garden::Zone& zone : setup.garden.zones)
        setup.specs.push_back(watering::zone_spec(
            zone, watering::solar_ahead(setup.garden.site.place, setup.timezone, zone)));
    return setup;
}

State initial_state(const Setup& setup) {
    State state;
    for (const garden::Zone& zone : setup.garden.zones)
        state.zones.push_back(fresh_zone(zone));
    state.guards.sensors = sensors_of(setup.garden);
    return state;
}

StepResult step(const Setup& setup, State& state, const Moment& now,
                std::span<const Input> inputs) {
    CHECK(state.zones.size() == setup.garden.zones.size());
    Work work{setup, state, now, {}, false};
    for (const Input& input : inputs)
        take(work, input);
    if (!state.begun) {
        // Nobody has told any weather: begin with what the season would bring.
        const weather::Hour guess =
            weather::assume(setup.garden.site.place, floor_hour(now.wall), {});
        begin_season(work, guess);
        work.replan = true;
    }
    forget_words(work);
    settle_overdue(work);
    tend_valves(work);
    tend_sensors(work);
    advise(work);
    if (work.replan || now.wall >= state.next_plan) replan(work);
    tend_supply(work);
    order_commands(work.result.commands);
    work.result.next_wake = next_wake(work);
    return std::move(work.result);
}

State adopt(const Setup& before, const State& state, const Setup& after) {
    State adopted = state;
    adopted.zones.clear();
    for (std::size_t i = 0; i < after.garden.zones.size(); ++i) {
        const garden::Zone& zone = after.garden.zones[i];
        const auto same = std::find_if(before.garden.zones.begin(), before.garden.zones.end(),
                                       [&](const garden::Zone& old) { return old.id == zone.id; });
        const auto old = static_cast<std::size_t>(same - before.garden.zones.begin());
        ZoneRuntime fresh = fresh_zone(zone);
        if (state.begun) {
            const double temp_c = state.recent.empty() ? 15.0 : state.recent.back().air_temp_c;
            const WallTime start = zone.establishment.start
                                       ? after.timezone.to_wall(*zone.establishment.start, 0)
                                       : state.settled_until;
            fresh.settled = watering::initial_state(zone, after.specs[i], temp_c, start);
            fresh.soaked = zone.establishment.method == turf::Method::none;
            fresh.past = Past{state.settled_until, fresh.settled, state.cloud_factor, {}};
            fresh.newer = fresh.past;
        }
        if (same != before.garden.zones.end() && state.begun) {
            CHECK(!state.zones[old].open);
            fresh =
                carry_over(*same, before.specs[old], state.zones[old], zone, after.specs[i], fresh);
        }
        adopted.zones.push_back(std::move(fresh));
    }
    adopted.next_plan = WallTime{}; // plan at the next step
    // Every output is closed; sensors are known by their id, those with another meaning anew.
    adopted.guards.master = {};
    adopted.guards.pump = {};
    adopted.guards.counts.clear();
    adopted.guards.dry_since.reset();
    adopted.guards.sensors = sensors_of(after.garden);
    for (SensorState& sensor : adopted.guards.sensors)
        for (std::size_t i = 0; i < state.guards.sensors.size(); ++i)
            if (state.guards.sensors[i].id == sensor.id &&
                same_sensor(before.garden.sensors[i], after.garden, sensor.id))
                sensor = state.guards.sensors[i];
    return adopted;
}

} // namespace firstmow::engine
