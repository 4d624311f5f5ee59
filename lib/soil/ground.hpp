// What lies under a zone, soil by soil from the surface down.
//
//   ~~~~~~~~~~~~~~ surface
//    topdressing    compost or another soil, spread over the old surface
//   --------------
//    loosened       the soil, tilled and raked: less dense
//   --------------
//    soil           as it lies
#pragma once

#include "soil/texture.hpp"

#include <optional>
#include <vector>

namespace firstmow::soil {

struct Loosened {
    double depth_mm = 0;         // from the old surface, 1..300
    double density_factor = 0.9; // in place of the soil's own
    bool operator==(const Loosened&) const = default;
};

struct Topdressing {
    double depth_mm = 0;             // 1..100
    std::optional<Composition> soil; // compost when it says nothing
    bool operator==(const Topdressing&) const = default;
};

struct Ground {
    Composition soil;
    std::optional<Loosened> loosened;
    std::optional<Topdressing> topdressing;
    bool operator==(const Ground&) const = default;
};

// One soil of the ground; the last has no bottom (infinity).
struct Stratum {
    Hydraulics soil;
    double bottom_mm = 0; // below the present surface
};
// From the top down, at least one.
std::vector<Stratum> strata(const Ground& ground);

} // namespace firstmow::soil
