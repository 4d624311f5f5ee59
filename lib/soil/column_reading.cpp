// Reading a column: storage, potentials, depletion.
#include "base/check.hpp"
#include "soil/column.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

double storage_mm(const Column& column, const ColumnState& state) {
    double sum = state.pond_mm;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        sum += state.theta[k] * column.layers.thickness_mm[k];
    }
    return sum;
}

double storage_mm(const Column& column, const ColumnState& state, double depth_mm) {
    double sum = state.pond_mm;
    double top = 0;
    for (int i = 0; i < column.layers.count && top < depth_mm; ++i) {
        const auto k = static_cast<std::size_t>(i);
        sum += state.theta[k] * (std::min(column.layers.bottom_mm[k], depth_mm) - top);
        top = column.layers.bottom_mm[k];
    }
    return sum;
}

namespace {

// The layers that begin above a depth.
int layers_to(const Column& column, double depth_mm) {
    int count = 0;
    while (count < column.layers.count &&
           (count == 0 ||
            column.layers.bottom_mm[static_cast<std::size_t>(count - 1)] <= depth_mm - 1e-9))
        ++count;
    return count;
}

double water_mm(const Column& column, const ColumnState& state, int layers) {
    double sum = 0;
    for (int i = 0; i < layers; ++i) {
        const auto k = static_cast<std::size_t>(i);
        sum += state.theta[k] * column.layers.thickness_mm[k];
    }
    return sum;
}

// How much of each soil the first `layers` hold, mm; the same soil may come more than once.
struct Share {
    const SoilTable* soil = nullptr;
    double thickness_mm = 0;
};
struct Shares {
    std::array<Share, kMaxLayers> part; // set up to count
    std::size_t count = 0;
    double thickness_mm = 0;
};
Shares shares_of(const Column& column, int layers) {
    Shares all;
    for (int i = 0; i < layers; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (all.count == 0 || all.part[all.count - 1].soil != column.soil[k])
            all.part[all.count++] = {column.soil[k], 0};
        all.part[all.count - 1].thickness_mm += column.layers.thickness_mm[k];
    }
    for (std::size_t j = 0; j < all.count; ++j)
        all.thickness_mm += all.part[j].thickness_mm;
    return all;
}

// What they hold at a potential, and the other way round.
double held_mm(const Shares& all, double potential_kpa) {
    double sum = 0;
    for (std::size_t j = 0; j < all.count; ++j)
        sum +=
            all.part[j].thickness_mm * all.part[j].soil->hydraulics().water_content(potential_kpa);
    return sum;
}

double held_mm(const Shares& all, std::size_t row) {
    double sum = 0;
    for (std::size_t j = 0; j < all.count; ++j)
        sum += all.part[j].thickness_mm * all.part[j].soil->over_head()[row].theta;
    return sum;
}

double kpa_of(const Shares& all, double water) {
    if (all.count == 1)
        return all.part[0].soil->hydraulics().potential_kpa(water / all.part[0].thickness_mm);
    if (water >= held_mm(all, 0.0)) return 0;
    const std::span<const double> heads = head_grid();
    std::size_t dry = 0;
    std::size_t wet = heads.size() - 2; // no soil begins to drain beyond it
    while (wet - dry > 1) {
        const std::size_t middle = (dry + wet) / 2;
        (held_mm(all, middle) < water ? dry : wet) = middle;
    }
    const double low = held_mm(all, dry);
    const double high = held_mm(all, wet);
    const double part = std::min((water - low) / (high - low), 1.0);
    return heads[dry] * std::pow(heads[wet] / heads[dry], part) / kMmHeadPerKpa;
}

} // namespace

double seed_zone_mm(const Column& column, const ColumnState& state) {
    return water_mm(column, state, column.layers.seed_layers);
}

double seed_zone_kpa(const Column& column, const ColumnState& state) {
    const int layers = column.layers.seed_layers;
    return kpa_of(shares_of(column, layers), water_mm(column, state, layers));
}

double mean_kpa(const Column& column, const ColumnState& state, double depth_mm) {
    const int layers = layers_to(column, depth_mm);
    return kpa_of(shares_of(column, layers), water_mm(column, state, layers));
}

double kpa_with_more(const Column& column, double depth_mm, double potential_kpa, double theta) {
    const Shares all = shares_of(column, layers_to(column, depth_mm));
    return kpa_of(all, held_mm(all, potential_kpa) + theta * all.thickness_mm);
}

double depletion_fraction(const Column& column, const ColumnState& state, double depth_mm) {
    double used = 0;
    double available = 0;
    for (int i = 0; i < layers_to(column, depth_mm); ++i) {
        const auto k = static_cast<std::size_t>(i);
        const Hydraulics& soil = column.soil[k]->hydraulics();
        const double all = soil.field_capacity - soil.wilting_point;
        used += std::clamp(soil.field_capacity - state.theta[k], 0.0, all) *
                column.layers.thickness_mm[k];
        available += all * column.layers.thickness_mm[k];
    }
    return used / available;
}

double available_mm(const Column& column, double depth_mm) {
    double sum = 0;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double within = std::min(column.layers.bottom_mm[k], depth_mm) - top;
        if (within <= 0) break;
        const Hydraulics& soil = column.soil[k]->hydraulics();
        sum += (soil.field_capacity - soil.wilting_point) * within;
        top = column.layers.bottom_mm[k];
    }
    return sum;
}

bool drained_below(const Column& column, const ColumnState& state, double depth_mm) {
    double lacks = 0;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double bottom = column.layers.bottom_mm[k];
        const double within = std::max(bottom - std::max(top, depth_mm), 0.0);
        lacks += (column.soil[k]->hydraulics().field_capacity - state.theta[k]) * within;
        top = bottom;
    }
    return lacks >= 0;
}

double wetted_depth_mm(const Column& column, const ColumnState& state, double potential_kpa) {
    double depth = 0;
    double least = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (k == 0 || column.soil[k] != column.soil[k - 1])
            least = column.soil[k]->hydraulics().water_content(potential_kpa);
        if (state.theta[k] < least) break;
        depth = column.layers.bottom_mm[k];
    }
    return depth;
}

} // namespace firstmow::soil
