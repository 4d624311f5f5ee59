// What is measured in the garden: which readings can be, and what follows from them.
//
// A reading that cannot be is passed over and said so: no number, out of range, from the future or
// too late, a jump that nothing in a garden makes. A sensor that is silent or stuck counts no more.
#include "engine/interlocks.hpp"
#include "engine/parts.hpp"

#include "base/text.hpp"
#include "watering/explain.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::engine {

namespace {

using garden::Sensor;
using garden::SensorKind;

constexpr Seconds kFromFuture{120};
constexpr Seconds kTooLate{900};
// After so many alike that were refused as a jump, the new level is the level.
constexpr int kBelievedAfter = 5;
constexpr const char* kJump = "nothing changes so fast";
constexpr int kSayEvery = 100;
constexpr std::size_t kGaugeHours = 72;
// Of the world's records a third (38 mm in one minute, WMO archive, from memory): beyond it a gauge
// is being cleaned or shaken.
constexpr double kMostRainMmPerMin = 12;

struct Limits {
    double low;
    double high;
    double jump;         // that is always believed
    double jump_per_min; // and what time adds to it
};
// Ranges of what is found in a garden; jumps are defaults without a source.
Limits limits_of(const Sensor& sensor) {
    switch (sensor.kind) {
    case SensorKind::flow_meter:
        return {0, 1e9, 1e9, 0};
    case SensorKind::rain_gauge:
        return {0, 1e6, 1e6, 0};
    case SensorKind::rain_switch:
    case SensorKind::stop_button:
        return {0, 1, 1, 0};
    case SensorKind::soil_probe:
        if (sensor.tension) return {-3000, 0, 3000, 0};
        return {0, 70, 15, 5};
    case SensorKind::thermometer:
        return {-40, 60, 5, 2};
    }
    return {0, 0, 0, 0};
}

double minutes(Millis span) {
    return static_cast<double>(span.count()) / 60000.0;
}

// What is wrong with a reading, as a clause; "" when nothing is.
std::string fault_of(const Work& work, const Sensor& sensor, const SensorState& last,
                     const SensorReading& in) {
    if (!std::isfinite(in.value)) return "that is no number";
    const Limits limits = limits_of(sensor);
    if (in.value < limits.low || in.value > limits.high)
        return "from " + fixed(limits.low, 0) + " to " + fixed(limits.high, 0) + " would be right";
    const bool switches =
        sensor.kind == SensorKind::rain_switch || sensor.kind == SensorKind::stop_button;
    if (switches && in.value != 0 && in.value != 1) return "0 or 1 would be right";
    if (work.state.guards.clock_trusted) {
        if (in.at > work.now.wall + kFromFuture) return "its time lies in the future";
        if (in.at < work.now.wall - kTooLate) return "it comes too late";
    }
    if (!last.heard) return "";
    const double since_min = std::max(minutes(work.now.mono - last.heard->mono), 0.02);
    const double step = in.value - last.value;
    if (sensor.kind == SensorKind::flow_meter) {
        const double most = 5 * work.setup.garden.supply.flow_l_per_min + 50;
        if (step > 2 * sensor.scale && step / since_min > most)
            return "the pipe cannot carry so much";
        return "";
    }
    if (sensor.kind == SensorKind::rain_gauge) {
        if (step > 2 * sensor.scale && step / since_min > kMostRainMmPerMin)
            return "no rain falls so fast";
        return "";
    }
    if (std::abs(step) > limits.jump + limits.jump_per_min * since_min) return kJump;
    return "";
}

bool stays(const Sensor& sensor, SensorState& state, double value) {
    const bool near = std::abs(value - state.jumped_to) <= limits_of(sensor).jump;
    state.jumps = state.jumps > 0 && near ? state.jumps + 1 : 1;
    state.jumped_to = value;
    return state.jumps >= kBelievedAfter;
}

void refuse(Work& work, const Sensor& sensor, SensorState& state, double value,
            const std::string& why) {
    if (state.refused++ % kSayEvery != 0) return;
    const std::string said = std::isfinite(value) ? fixed(value, 2) : "no number";
    work.notify("", Severity::warning, "sensor_refused",
                "The sensor " + sensor.id + " said " + said + ", which is passed over: " + why +
                    ".");
}

// --- rain ------------------------------------------------------------------------------------
GaugeHour& gauge_hour(Guards& g, WallTime start) {
    for (GaugeHour& hour : g.gauge)
        if (hour.start == start) return hour;
    const auto at = std::find_if(g.gauge.begin(), g.gauge.end(),
                                 [&](const GaugeHour& hour) { return hour.start > start; });
    const auto made = g.gauge.insert(at, GaugeHour{start, 0, Seconds{0}});
    if (g.gauge.size() <= kGaugeHours || made == g.gauge.begin()) return *made;
    g.gauge.erase(g.gauge.begin());
    return gauge_hour(g, start);
}

void rain_fell(Work& work, const Sensor& sensor, const SensorState& before, double value) {
    Guards& g = work.state.guards;
    if (!before.heard) return;
    // A gap longer than that was no watch.
    const Seconds gap = work.now.wall - before.heard->wall;
    if (gap > Seconds{0} && gap <= Seconds{sensor.silent_after_s})
        for (WallTime from = before.heard->wall; from < work.now.wall;) {
            const WallTime to = std::min(floor_hour(from) + kHour, work.now.wall);
            gauge_hour(g, floor_hour(from)).watched += to - from;
            from = to;
        }
    const double mm = value - before.value; // less: its counter has begun anew
    if (mm <= 0) return;
    // A tip at the full hour fell before it, unless that hour has been settled already.
    const WallTime hour = std::max(floor_hour(work.now.wall - Seconds{1}),
                                   std::min(work.state.settled_until, floor_hour(work.now.wall)));
    gauge_hour(g, hour).mm += mm;
    work.replan = true;
}

// What the probe reads teaches the zone's own factors, as a person's reading does; how often, and
// how far it is believed, is decided there.
void probed(Work& work, const Sensor& sensor, double value) {
    const auto zone = work.zone_index(sensor.zone);
    if (!zone) return;
    SoilProbe probe;
    probe.zone = sensor.zone;
    const double seed_depth_mm = work.setup.garden.zones[*zone].establishment.seed_depth_mm;
    probe.depth_mm = std::clamp(sensor.depth_mm > 0 ? sensor.depth_mm : seed_depth_mm, 5.0, 300.0);
    if (sensor.tension)
        probe.kpa = value;
    else
        probe.water_fraction = value / 100;
    learn_probe(work, *zone, probe);
}

} // namespace

void correct_rain(const Setup& setup, const State& state, weather::Hour& hour, WallTime now) {
    const bool has_gauge =
        std::any_of(setup.garden.sensors.begin(), setup.garden.sensors.end(),
                    [](const Sensor& s) { return s.kind == SensorKind::rain_gauge; });
    if (!has_gauge) return;
    constexpr Seconds kWhole{3300}; // of an hour: the gauge saw it all
    constexpr Seconds kEnough{900}; // of the present hour, to go on from
    for (const GaugeHour& measured : state.guards.gauge) {
        if (measured.start != hour.start) continue;
        if (measured.watched >= kWhole && hour.start + kHour <= now) {
            hour.rain_mm = measured.mm;
            hour.rain_probability = 1;
            hour.rain_origin = weather::Origin::measured;
            return;
        }
        if (measured.mm <= 0) return;
        // Less than the whole hour is known: at least what has fallen; in the present hour as if it
        // went on like this.
        double mm = measured.mm;
        if (hour.start + kHour > now) {
            const Seconds elapsed = std::max(now - hour.start, kEnough);
            mm *= 3600.0 / static_cast<double>(elapsed.count());
        }
        hour.rain_mm = std::max(hour.rain_mm * hour.rain_probability, mm);
        hour.rain_probability = 1;
        return;
    }
}

void take_reading(Work& work, const SensorReading& in) {
    Guards& g = work.state.guards;
    for (std::size_t i = 0; i < work.setup.garden.sensors.size(); ++i) {
        const Sensor& sensor = work.setup.garden.sensors[i];
        if (sensor.id != in.sensor) continue;
        SensorState& state = g.sensors[i];
        const std::string fault = fault_of(work, sensor, state, in);
        if (!fault.empty()) {
            // A level that stays is no jump any more.
            if (fault != kJump || !stays(sensor, state, in.value)) {
                refuse(work, sensor, state, in.value, fault);
                return;
            }
        }
        const SensorState before = state;
        state.refused = 0;
        state.jumps = 0;
        state.silent = false;
        state.heard = work.now;
        if (!before.heard || before.value != in.value) state.changed = work.now;
        state.value = in.value;
        const double frost = work.setup.garden.interlocks.frost_c;
        switch (sensor.kind) {
        case SensorKind::flow_meter:
            flow_counted(work, sensor, in.value);
            return;
        case SensorKind::rain_gauge:
            rain_fell(work, sensor, before, in.value);
            return;
        case SensorKind::stop_button:
            g.button = std::any_of(g.sensors.begin(), g.sensors.end(), [&](const SensorState& s) {
                const auto index = static_cast<std::size_t>(&s - g.sensors.data());
                return work.setup.garden.sensors[index].kind == SensorKind::stop_button &&
                       s.heard && s.value == 1;
            });
            if (in.value == 1 && (!before.heard || before.value != 1 || !g.stop))
                latch_stop(work, "its button was pressed");
            return;
        case SensorKind::rain_switch:
            work.replan = work.replan || !before.heard || before.value != in.value;
            return;
        case SensorKind::thermometer:
            work.replan =
                work.replan || !before.heard || (before.value <= frost) != (in.value <= frost);
            return;
        case SensorKind::soil_probe:
            probed(work, sensor, in.value);
            return;
        }
    }
    work.notify("", Severity::warning, "unknown_sensor",
                "A reading named the sensor '" + in.sensor + "', which this garden does not have.");
}

void tend_sensors(Work& work) {
    for (std::size_t i = 0; i < work.setup.garden.sensors.size(); ++i) {
        const Sensor& sensor = work.setup.garden.sensors[i];
        SensorState& state = work.state.guards.sensors[i];
        if (!state.heard || state.silent) continue;
        if (work.now.mono - state.heard->mono <= Seconds{sensor.silent_after_s}) continue;
        state.silent = true;
        work.notify(
            "", Severity::warning, "sensor_silent",
            "Nothing has been heard of the sensor " + sensor.id + " since " +
                watering::clock_words(state.heard->wall, work.setup.timezone, work.now.wall) +
                "; it counts no more.");
        work.replan = true;
    }
}

} // namespace firstmow::engine
