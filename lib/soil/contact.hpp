// What passes from a layer to the one below it. Inside of the room.
//
// Within one soil the difference of its potential drives the water, and gravity adds the mean
// conductivity. Where two soils meet the potential jumps and only the head is the same on both
// sides: the one head is sought at which as much arrives from the layer above as leaves into the
// layer below. It is found in the soils' tables over head, in whose cells all is linear, so the
// flux is the same on both sides to rounding.
#pragma once

#include "soil/table.hpp"

namespace firstmow::soil {

struct Passing {
    double down = 0;                 // mm/s
    double d_upper = 0, d_lower = 0; // its slopes over the water content of the two layers
};

// A layer's water as what drives it, with the slopes over its water content.
struct Drawn {
    const SoilTable& soil;
    double potential, d_potential;       // liquid and vapour in one, mm2/s
    double conductivity, d_conductivity; // mm/s
};

// `upper_per_half`, `lower_per_half`: 1 / mm from the middle of either layer to the contact.
// `vapour`: what a difference of vapour potential drives.
Passing across(const Drawn& upper, const Drawn& lower, double upper_per_half, double lower_per_half,
               double vapour);

} // namespace firstmow::soil
