// When one phase gives way to the next. Inside of the turf room.
#pragma once

#include "turf/establishment.hpp"

namespace firstmow::turf {

// What a stand that is mown has at least: ground cover (three fifths of the grass is tall enough,
// Cornell) and roots. Engineering defaults.
inline constexpr double kCoverAtFirstMow = 0.5;
inline constexpr double kRootsAtFirstMowMm = 60;

// Sets the phase, and says so.
PhaseChange move_to(Progress& progress, Phase phase, WallTime now, std::string why);

// Moves on by one phase when its end is reached.
std::optional<PhaseChange> next_phase(Progress& progress, WallTime now);

} // namespace firstmow::turf
