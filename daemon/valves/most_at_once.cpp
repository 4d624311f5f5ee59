#include "valves/most_at_once.hpp"

#include <algorithm>
#include <vector>

namespace firstmow::valves {

std::size_t most_at_once(const garden::Garden& garden) {
    std::vector<double> flows;
    for (const garden::Zone& zone : garden.zones)
        flows.push_back(zone.flow_l_per_min());
    std::sort(flows.begin(), flows.end());
    double left = garden.supply.flow_l_per_min * (1 + 1e-9);
    std::size_t most = 0;
    for (const double flow : flows) {
        left -= flow;
        if (left < 0) break;
        ++most;
    }
    most =
        std::clamp<std::size_t>(most, 1, static_cast<std::size_t>(garden.interlocks.zones_at_once));
    return most + (garden.master ? 1U : 0U) + (garden.pump ? 1U : 0U);
}

} // namespace firstmow::valves
