#include "judge/richards.hpp"

#include <algorithm>

namespace firstmow::judge {
namespace {

Grid with_shares(std::vector<double> depth_mm) {
    Grid grid;
    grid.depth_mm = std::move(depth_mm);
    const auto& z = grid.depth_mm;
    grid.share_mm.resize(z.size());
    for (std::size_t i = 0; i < z.size(); ++i) {
        const double top = i == 0 ? z[0] : (z[i - 1] + z[i]) / 2;
        const double bottom = i + 1 == z.size() ? z[i] : (z[i] + z[i + 1]) / 2;
        grid.share_mm[i] = bottom - top;
    }
    return grid;
}

} // namespace

Grid make_grid(double depth_mm, double finest_mm, double fine_to_mm, double coarsest_mm,
               double growth) {
    std::vector<double> z{0};
    double interval = finest_mm;
    while (z.back() < depth_mm - 1e-9) {
        if (z.back() > fine_to_mm - 1e-9) interval = std::min(interval * growth, coarsest_mm);
        double next = z.back() + interval;
        if (depth_mm - next < interval / 2) next = depth_mm;
        z.push_back(next);
    }
    return with_shares(std::move(z));
}

Grid halved(const Grid& grid) {
    std::vector<double> z{grid.depth_mm.front()};
    for (std::size_t i = 1; i < grid.depth_mm.size(); ++i) {
        z.push_back((grid.depth_mm[i - 1] + grid.depth_mm[i]) / 2);
        z.push_back(grid.depth_mm[i]);
    }
    return with_shares(std::move(z));
}

} // namespace firstmow::judge
