// How many valves the tap of a garden can feed at once: the keeper's limit (SAFE-15), reckoned
// apart from the engine, which minds the flows themselves.
#pragma once

#include "garden/garden.hpp"

#include <cstddef>

namespace firstmow::valves {

// As many of the smallest zones as the flow suffices for, at least one; master valve and pump
// beside.
std::size_t most_at_once(const garden::Garden& garden);

} // namespace firstmow::valves
