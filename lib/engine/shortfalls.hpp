// Which seedbeds will dry in spite of all planning, when, by how much, and what would help.
//
// The coming days are lived by the engine itself (foresight.hpp), and where a bed dries in them
// they are lived again with one thing changed at a time: straw on the bare beds, water at any hour,
// a tap for all zones at once, sprinklers that spread evenly. What is named as a help has been
// tried so. Costs up to five times a foresight: callers make it seldom, beside the control loop.
// Pure.
#pragma once

#include "engine/foresight.hpp"

#include <functional>
#include <vector>

namespace firstmow::engine {

// The dearest first (watering::AtStake), of these the driest; none where all beds stay damp.
// `ahead` 1 h to 7 days. `go_on`, when given, is asked between two lives; false ends it with what
// is known by then.
std::vector<ShortfallView> shortfalls(const Setup& setup, const State& state, const Moment& now,
                                      Seconds ahead, const std::function<bool()>& go_on = {});

} // namespace firstmow::engine
