// The engine on a bench: virtual clocks, weather by the hour, valves that can be made to misbehave.
//
// Every step is checked for what must never happen: a command for a zone that the garden does not
// have, a valve opened twice, more water asked for than the tap gives. Its code stands in rig.cpp:
// compiled into every test that includes it it would cost a minute.
#pragma once

#include "../watering/trial_garden.hpp"
#include "engine/engine.hpp"

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::trial {

using engine::Input;
using engine::Record;

template <class T>
std::vector<T> only(const std::vector<Record>& records) {
    std::vector<T> found;
    for (const Record& record : records)
        if (const T* one = std::get_if<T>(&record)) found.push_back(*one);
    return found;
}

class Rig {
public:
    explicit Rig(garden::Garden garden, WallTime from = local(0, 5), const Air& air = {});
    Rig(const Rig&);
    Rig(Rig&&) noexcept;
    Rig& operator=(const Rig&);
    Rig& operator=(Rig&&) noexcept;
    ~Rig();

    engine::Setup setup;
    engine::State state;
    WallTime now;
    MonoTime mono{Millis{5'000'000}};
    bool measured = true; // hours of weather arrive
    bool forecast = true; // with a perfect forecast
    // What a valve answers to a command; none: it stays silent. Empty: it obeys.
    std::function<std::optional<engine::ValveReport>(const std::string& zone, bool open)> valve;

    std::vector<Record> records;
    std::vector<engine::Command> commands;
    std::map<std::string, bool> open; // as the driver knows

    // One step, and the commands that it gives.
    std::vector<engine::Command> tell(const std::vector<Input>& inputs);
    // Tells, and carries the answers of the valves back until nobody has anything to say.
    void say(std::vector<Input> inputs = {});
    // Both clocks go on to `until`; the engine is called when it wants to be.
    void run_to(WallTime until);
    void run_for(Seconds span) { run_to(now + span); }
    // Time passes, nobody notices.
    void pass(Seconds span) {
        now += span;
        mono += span;
    }

    weather::Hour hour_at(WallTime start) const { return clear_hour(start, air_); }

    engine::ZoneRuntime& zone(std::size_t i = 0) { return state.zones.at(i); }
    engine::GardenView view() const;
    std::vector<engine::Cycle> cycles() const { return only<engine::Cycle>(records); }
    std::vector<engine::Notice> notices(const std::string& code) const;
    std::size_t openings() const;

    std::vector<Input> weather();

private:
    void check(const engine::Command& command);
    std::vector<Input> answers(const std::vector<engine::Command>& given);

    Air air_;
    WallTime weather_from_;
    WallTime told_until_{};
    engine::Moment wake_{};
};

} // namespace firstmow::trial
