// A season under a virtual clock: the engine, weather that is known beforehand, simulated valves.
//
// The very engine of the daemon; only the clock, the weather and the valves are make-believe. Same
// plan of a season, same bytes out.
#pragma once

#include "engine/engine.hpp"
#include "sim/forecast.hpp"

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::sim {

struct Event {
    WallTime time;
    engine::Input input;
};

// While nothing is heard: neither hours nor forecasts arrive. What was missed never comes.
struct Silence {
    WallTime from;
    WallTime to;
};

struct SeasonPlan {
    std::vector<weather::Hour> truth; // complete hours in order, without gaps; the season's weather
    WallTime from;                    // a full hour inside of it
    WallTime to;                      // after `from`; at most the end of the weather
    ForecastMode forecast = ForecastMode::noisy;
    std::uint64_t seed = 1;
    std::vector<Event> events; // sorted by time
    std::optional<Silence> silence{};
};

// A change of a simulated valve.
struct ValveChange {
    std::string zone;
    int channel = 0;
    bool open = false;
    MonoTime at;
};

// What a season tells its listener, in order.
struct SeasonListener {
    // A step with what went in and what came out.
    std::function<void(const engine::Moment&, const std::vector<engine::Input>&,
                       const engine::StepResult&, const engine::State&)>
        on_step;
    std::function<void(const ValveChange&)> on_valve;
};

// Runs from `plan.from` to `plan.to`; what is open at the end is closed by a stop order. Returns
// the state at the end.
engine::State run_season(const engine::Setup& setup, const SeasonPlan& plan,
                         const SeasonListener& listener);

// Readings completed hour by hour, each from what came before it only.
std::vector<weather::Hour> complete_all(const weather::Place& place,
                                        const std::vector<weather::Reading>& readings);

} // namespace firstmow::sim
