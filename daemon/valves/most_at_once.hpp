// How many valves the tap of a garden can feed at once: the keeper's limit (SAFE-15), reckoned
// apart from the engine, which minds the flows themselves.
#pragma once

#include "garden/garden.hpp"

#include <cstddef>

namespace firstmow::valves {

// How many outputs may be open at once: as many of the smallest zones as the flow suffices for and
// the interlocks allow, at least one; and master valve and pump beside them.
std::size_t most_at_once(const garden::Garden& garden);

} // namespace firstmow::valves
