#include "soil/column.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

namespace {

// Boundaries of the engine's grid. Half a millimetre at the top carries the crust; fine layers down
// to where the drying front of a sand comes to stand; thick ones in the summer-dry soil below.
// Coarser ones between 3 and 14 mm let a sand look damp hours longer than a fine grid does.
constexpr std::array<double, 17> kBoundariesMm{0.5, 1,  1.7, 2.5, 3.5, 4.7, 6,   7.6, 9.5,
                                               12,  15, 20,  27,  40,  70,  130, 300};

// Puddles on a raked seedbed: about 2 mm on the flat, little on a slope (engineering default in
// the range of the depression storage of smooth bare soil, 1-3 mm).
double pond_capacity(double slope_pct) {
    return 0.3 + 1.7 * std::exp(-slope_pct / 6.0);
}

} // namespace

Layering engine_layering(double seed_depth_mm) {
    CHECK(seed_depth_mm >= 1 && seed_depth_mm <= 25);
    // The seed depth takes the place of the boundary that is nearest to it.
    const auto nearest = std::min_element(
        kBoundariesMm.begin(), kBoundariesMm.end(), [seed_depth_mm](double a, double b) {
            return std::abs(std::log(a / seed_depth_mm)) < std::abs(std::log(b / seed_depth_mm));
        });
    Layering layers;
    double top = 0;
    for (auto boundary = kBoundariesMm.begin(); boundary != kBoundariesMm.end(); ++boundary) {
        const auto i = static_cast<std::size_t>(layers.count++);
        layers.bottom_mm[i] = boundary == nearest ? seed_depth_mm : *boundary;
        layers.thickness_mm[i] = layers.bottom_mm[i] - top;
        top = layers.bottom_mm[i];
        if (boundary == nearest) layers.seed_layers = layers.count;
    }
    return layers;
}

Layering refined(const Layering& coarse, int parts) {
    CHECK(parts >= 1 && coarse.count * parts <= kMaxLayers);
    Layering fine;
    fine.seed_layers = coarse.seed_layers * parts;
    double bottom = 0;
    for (int i = 0; i < coarse.count; ++i) {
        for (int part = 0; part < parts; ++part) {
            const auto k = static_cast<std::size_t>(fine.count++);
            fine.thickness_mm[k] = coarse.thickness_mm[static_cast<std::size_t>(i)] / parts;
            bottom += fine.thickness_mm[k];
            fine.bottom_mm[k] = bottom;
        }
    }
    return fine;
}

Column make_column(TextureClass texture, double seed_depth_mm, double slope_pct) {
    CHECK(slope_pct >= 0);
    return Column{&table(texture), engine_layering(seed_depth_mm), pond_capacity(slope_pct)};
}

ColumnState uniform_state(const Column& column, double potential_kpa) {
    CHECK(potential_kpa < 0);
    ColumnState state;
    const double theta =
        std::max(column.soil->hydraulics().water_content(potential_kpa), column.soil->driest());
    for (int i = 0; i < column.layers.count; ++i)
        state.theta[static_cast<std::size_t>(i)] = theta;
    return state;
}

Flows& Flows::operator+=(const Flows& other) {
    supply_mm += other.supply_mm;
    dew_mm += other.dew_mm;
    evaporation_mm += other.evaporation_mm;
    transpiration_mm += other.transpiration_mm;
    runoff_mm += other.runoff_mm;
    drainage_mm += other.drainage_mm;
    intake_mm += other.intake_mm;
    return *this;
}

double storage_mm(const Column& column, const ColumnState& state) {
    double sum = state.pond_mm;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        sum += state.theta[k] * column.layers.thickness_mm[k];
    }
    return sum;
}

namespace {

// Water of the layers that begin above `depth_mm`, and the depth that they reach.
struct Reach {
    double water_mm = 0;
    double depth_mm = 0;
};
Reach reach(const Column& column, const ColumnState& state, double depth_mm) {
    Reach r;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (r.depth_mm > depth_mm - 1e-9) break;
        r.water_mm += state.theta[k] * column.layers.thickness_mm[k];
        r.depth_mm = column.layers.bottom_mm[k];
    }
    CHECK(r.depth_mm > 0);
    return r;
}

double seed_depth_mm(const Column& column) {
    return column.layers.bottom_mm[static_cast<std::size_t>(column.layers.seed_layers - 1)];
}

} // namespace

double seed_zone_mm(const Column& column, const ColumnState& state) {
    return reach(column, state, seed_depth_mm(column)).water_mm;
}

double seed_zone_kpa(const Column& column, const ColumnState& state) {
    return mean_kpa(column, state, seed_depth_mm(column));
}

double mean_kpa(const Column& column, const ColumnState& state, double depth_mm) {
    const Reach r = reach(column, state, depth_mm);
    return column.soil->hydraulics().potential_kpa(r.water_mm / r.depth_mm);
}

double depletion_fraction(const Column& column, const ColumnState& state, double depth_mm) {
    const Reach r = reach(column, state, depth_mm);
    const Hydraulics& soil = column.soil->hydraulics();
    const double available = soil.field_capacity - soil.wilting_point;
    return std::clamp((soil.field_capacity - r.water_mm / r.depth_mm) / available, 0.0, 1.0);
}

double wetted_depth_mm(const Column& column, const ColumnState& state, double potential_kpa) {
    const double least = column.soil->hydraulics().water_content(potential_kpa);
    double depth = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (state.theta[k] < least) break;
        depth = column.layers.bottom_mm[k];
    }
    return depth;
}

} // namespace firstmow::soil
