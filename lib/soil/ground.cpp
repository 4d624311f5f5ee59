#include "soil/ground.hpp"

#include "base/check.hpp"

#include <limits>

namespace firstmow::soil {

std::vector<Stratum> strata(const Ground& ground) {
    std::vector<Stratum> all;
    double surface = 0; // the old one
    if (ground.topdressing) {
        CHECK(ground.topdressing->depth_mm > 0);
        surface = ground.topdressing->depth_mm;
        all.push_back({ground.topdressing->soil ? hydraulics(*ground.topdressing->soil) : compost(),
                       surface});
    }
    if (ground.loosened) {
        CHECK(ground.loosened->depth_mm > 0);
        Composition loose = ground.soil;
        loose.density_factor = ground.loosened->density_factor;
        all.push_back({hydraulics(loose), surface + ground.loosened->depth_mm});
    }
    all.push_back({hydraulics(ground.soil), std::numeric_limits<double>::infinity()});
    return all;
}

} // namespace firstmow::soil
