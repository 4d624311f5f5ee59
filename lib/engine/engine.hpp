// The engine: a deterministic state machine that turns weather, time and people's words into
// commands for valves and records for the journal.
//
//   step(setup, state, now, inputs) -> commands, records, next wake
//
// It reads no clock and does no I/O; what it is told is all it knows. The daemon, `simulate`,
// `replay` and the fault tests run this same code. Reading order: step() in engine.cpp, then the
// parts in the order in which they act: orders (what people and valves say), budget (weather into
// soil), cycles (valves), replan (what next).
#pragma once

#include "engine/inputs.hpp"
#include "engine/records.hpp"
#include "engine/state.hpp"
#include "engine/view.hpp"
#include "garden/garden.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::engine {

// What does not change while a garden file is in force.
struct Setup {
    garden::Garden garden;
    TimeZone timezone;
    std::vector<watering::ZoneSpec> specs; // one per zone
};
Setup make_setup(garden::Garden garden, TimeZone timezone);

// A season that has not begun: it begins with the first hour of weather, or with the first step.
State initial_state(const Setup& setup);

struct StepResult {
    std::vector<Command> commands;
    std::vector<Record> records;
    Moment next_wake; // call again when either clock has reached its part
};
StepResult step(const Setup& setup, State& state, const Moment& now, std::span<const Input> inputs);

// Why a person's order would be refused at once, as a sentence; nothing when it would be taken
// (it may still wait for the tap, or for a rest).
std::optional<std::string> refusal(const Setup& setup, const State& state, const Moment& now,
                                   const Input& input);

// Carries a running season over to another garden file: zones are known by their id, new ones
// begin, removed ones are forgotten. Every valve must be closed.
State adopt(const Setup& before, const State& state, const Setup& after);

// What is to be expected of each zone's grass. Most of a view's cost, and it moves with weather and
// reports only, not with valves and orders: a caller that makes many views keeps it for a while.
std::vector<turf::Prospect> prospects(const Setup& setup, const State& state, WallTime now);

// `expected`: the prospects of these zones, if the caller has them; reckoned otherwise.
GardenView view(const Setup& setup, const State& state, const Moment& now,
                std::span<const turf::Prospect> expected = {});

// What bringing another garden file into force does to the season, in sentences for whoever is
// about to; empty when nothing of the season changes.
std::vector<std::string> effects(const Setup& before, const State& state, const Setup& after);

} // namespace firstmow::engine
