#include "soil/column.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

namespace {

// Boundaries of the engine's grid. Half a millimetre at the top carries the crust; fine layers down
// to where the drying front of a sand comes to stand; thick ones in the summer-dry soil below.
// Coarser ones between 3 and 14 mm let a sand look damp hours longer than a fine grid does, and
// coarser ones below 40 mm (one of 80 mm and one of 150) drew too much out of a loam after rain:
// its seed zone was 0.002 to 0.005 of water drier than on a fine grid, and is now 0.001.
constexpr std::array<double, 19> kBoundariesMm{0.5, 1,  1.7, 2.5, 3.5, 4.7, 6,   7.6, 9.5, 12,
                                               15,  20, 27,  40,  60,  95,  150, 225, 300};

// Depths of soils and seed that are nearer to each other than this are taken for one.
constexpr double kSameMm = 0.3;

// Puddles on a raked seedbed: about 2 mm on the flat, little on a slope (engineering default in
// the range of the depression storage of smooth bare soil, 1-3 mm).
double pond_capacity(double slope_pct) {
    return 0.3 + 1.7 * std::exp(-slope_pct / 6.0);
}

void set_gaps(Layering& layers) {
    for (std::size_t i = 0; i + 1 < static_cast<std::size_t>(layers.count); ++i)
        layers.per_gap[i] = 2 / (layers.thickness_mm[i] + layers.thickness_mm[i + 1]);
}

std::vector<int> contacts_of(const Column& column) {
    std::vector<int> contacts;
    for (int i = 0; i + 1 < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (column.soil[k] != column.soil[k + 1]) contacts.push_back(i);
    }
    return contacts;
}

} // namespace

Layering engine_layering(double seed_depth_mm, std::span<const double> meet_mm) {
    CHECK(seed_depth_mm >= 1 && seed_depth_mm <= 25);
    struct Boundary {
        double at_mm;
        bool fixed;
    };
    std::vector<Boundary> grid;
    for (const double boundary : kBoundariesMm)
        grid.push_back({boundary, false});
    const auto put = [&grid](double depth) {
        const auto nearest =
            std::min_element(grid.begin(), grid.end(), [depth](const auto& a, const auto& b) {
                return std::abs(std::log(a.at_mm / depth)) < std::abs(std::log(b.at_mm / depth));
            });
        const bool bottom = nearest + 1 == grid.end();
        if (!nearest->fixed && !bottom)
            *nearest = {depth, true};
        else if (std::abs(nearest->at_mm - depth) > kSameMm)
            grid.insert(depth < nearest->at_mm ? nearest : nearest + 1, {depth, true});
    };
    put(seed_depth_mm);
    for (const double depth : meet_mm)
        if (depth < kBoundariesMm.back()) put(depth);

    Layering layers;
    CHECK(grid.size() <= kMaxLayers);
    double top = 0;
    for (const Boundary& boundary : grid) {
        const auto i = static_cast<std::size_t>(layers.count++);
        layers.bottom_mm[i] = boundary.at_mm;
        layers.thickness_mm[i] = boundary.at_mm - top;
        top = boundary.at_mm;
        if (boundary.at_mm == seed_depth_mm) layers.seed_layers = layers.count;
    }
    set_gaps(layers);
    return layers;
}

Column make_column(const Ground& ground, double seed_depth_mm, double slope_pct) {
    CHECK(slope_pct >= 0);
    const std::vector<Stratum> all = strata(ground);
    std::vector<double> meet;
    for (std::size_t i = 0; i + 1 < all.size(); ++i)
        meet.push_back(all[i].bottom_mm);
    Column column;
    column.layers = engine_layering(seed_depth_mm, meet);
    column.pond_capacity_mm = pond_capacity(slope_pct);
    for (const Stratum& stratum : all)
        column.materials.push_back(table_of(stratum.soil));
    std::size_t material = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const double middle = column.layers.bottom_mm[k] - column.layers.thickness_mm[k] / 2;
        while (middle > all[material].bottom_mm)
            ++material;
        column.soil[k] = column.materials[material].get();
    }
    column.contacts = contacts_of(column);
    return column;
}

Column make_column(const Composition& soil, double seed_depth_mm, double slope_pct) {
    return make_column(Ground{soil, std::nullopt, std::nullopt}, seed_depth_mm, slope_pct);
}

Column refined(const Column& coarse, int parts) {
    CHECK(parts >= 1 && coarse.layers.count * parts <= kMaxLayers);
    Column fine = coarse;
    fine.layers.count = 0;
    fine.layers.seed_layers = coarse.layers.seed_layers * parts;
    double bottom = 0;
    for (int i = 0; i < coarse.layers.count; ++i) {
        const auto from = static_cast<std::size_t>(i);
        for (int part = 0; part < parts; ++part) {
            const auto k = static_cast<std::size_t>(fine.layers.count++);
            fine.layers.thickness_mm[k] = coarse.layers.thickness_mm[from] / parts;
            bottom += fine.layers.thickness_mm[k];
            fine.layers.bottom_mm[k] = bottom;
            fine.soil[k] = coarse.soil[from];
        }
    }
    set_gaps(fine.layers);
    fine.contacts = contacts_of(fine);
    return fine;
}

ColumnState uniform_state(const Column& column, double potential_kpa) {
    CHECK(potential_kpa < 0);
    ColumnState state;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        state.theta[k] = std::max(column.soil[k]->hydraulics().water_content(potential_kpa),
                                  column.soil[k]->driest());
    }
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

} // namespace firstmow::soil
