#include "engine/follow.hpp"

#include "base/check.hpp"
#include "engine/parts.hpp"
#include "watering/explain.hpp"
#include "weather/fill.hpp"

#include <algorithm>
#include <utility>
#include <variant>

namespace firstmow::engine {

namespace {

bool is_followed(const Setup& setup, const Input& input) {
    if (const auto* reading = std::get_if<SensorReading>(&input)) {
        // A meter is judged by the valves that are open, and here none ever is.
        for (const garden::Sensor& sensor : setup.garden.sensors)
            if (sensor.id == reading->sensor) return sensor.kind != garden::SensorKind::flow_meter;
        return false;
    }
    return !std::holds_alternative<WaterOrder>(input) &&
           !std::holds_alternative<ValveReport>(input) &&
           !std::holds_alternative<Restarted>(input) && !std::holds_alternative<Remark>(input);
}

} // namespace

Follower::Follower(std::vector<Cycle> cycles) : cycles_(std::move(cycles)) {
    std::stable_sort(cycles_.begin(), cycles_.end(),
                     [](const Cycle& a, const Cycle& b) { return a.start < b.start; });
}

void Follower::go_on_from(State& state, WallTime at) {
    std::erase_if(cycles_, [&](const Cycle& c) { return c.end <= at; });
    for (ZoneRuntime& zone : state.zones) {
        zone.open.reset();
        std::erase_if(zone.applied, [](const Applied& a) { return !a.to; });
    }
    state.guards.master = {};
    state.guards.pump = {};
}

void Follower::take_runs(const Setup& setup, State& state, const Moment& now) {
    Work work{setup, state, now, {}, false};
    for (; begun_ < cycles_.size() && cycles_[begun_].start <= now.wall; ++begun_) {
        const Cycle& c = cycles_[begun_];
        state.next_cycle_id = std::max(state.next_cycle_id, c.id + 1);
        const auto zone = work.zone_index(c.zone);
        if (!zone) continue; // the garden has it no more, or not yet
        ZoneRuntime& z = state.zones[*zone];
        if (c.reason == watering::key(watering::Reason::first_soak)) z.soaked = true;
        if (c.run_s > 0) z.applied.push_back({c.start, c.end});
        running_.push_back(c);
    }
    std::erase_if(running_, [&](const Cycle& c) {
        if (c.end > now.wall) return false;
        if (const auto zone = work.zone_index(c.zone)) account(work, *zone, c);
        return true;
    });
}

void Follower::step(const Setup& setup, State& state, const Moment& now,
                    std::span<const Input> inputs) {
    CHECK(state.zones.size() == setup.garden.zones.size());
    for (const ZoneRuntime& zone : state.zones)
        CHECK(!zone.open);
    take_runs(setup, state, now);
    Work work{setup, state, now, {}, false};
    for (const Input& input : inputs)
        if (is_followed(setup, input)) take(work, input);
    if (!state.begun)
        begin_season(work, weather::assume(setup.garden.site.place, floor_hour(now.wall), {}));
    forget_words(work);
    settle_overdue(work);
    tend_sensors(work);
    advise(work);
    for (ZoneRuntime& zone : state.zones) {
        zone.ordered_s = 0;
        zone.owed_s = 0;
    }
    state.next_plan = WallTime{};
}

void found_open(const Setup& setup, State& state, const std::string& zone, std::int64_t id,
                WallTime start, int planned_s, const std::string& reason) {
    state.next_cycle_id = std::max(state.next_cycle_id, id + 1);
    for (std::size_t i = 0; i < state.zones.size(); ++i) {
        ZoneRuntime& z = state.zones[i];
        if (setup.garden.zones[i].id != zone || z.open) continue;
        OpenCycle open;
        open.stage = OpenCycle::Stage::running;
        open.id = id;
        open.planned_s = planned_s;
        open.reason = reason;
        open.wall_start = start;
        z.open = std::move(open);
        z.applied.push_back({start, std::nullopt});
    }
}

} // namespace firstmow::engine
