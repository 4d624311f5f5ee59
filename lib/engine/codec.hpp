// Inputs and state as text (JSON), for the journal, snapshots and replay. What is written reads
// back to the same value, bit for bit; what is malformed is an Error, never a crash.
#pragma once

#include "base/result.hpp"
#include "engine/engine.hpp"

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::engine {

// The inputs of one step.
std::string encode_inputs(std::span<const Input> inputs);
Result<std::vector<Input>> decode_inputs(std::string_view text);

// A state belongs to a garden: it is read for `setup` and refused if its zones do not fit.
std::string encode_state(const Setup& setup, const State& state);
Result<State> decode_state(const Setup& setup, std::string_view text);

std::string encode_timezone(const TimeZone& timezone);
Result<TimeZone> decode_timezone(std::string_view text);

} // namespace firstmow::engine
