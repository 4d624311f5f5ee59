#include "watering/interception.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::watering {

namespace {

// 0.2 mm on each unit of leaf area (Dickinson 1984, Geophys. Monogr. 29:58; Noilhan and Planton
// 1989, Mon. Wea. Rev. 117:536). Clipped grass has a leaf area index of 24 times its height in
// metres (FAO-56 Box 5): 1.8 where it is mown at 75 mm (FAO-56 Table 17: 60-80 mm).
constexpr double kHeldPerLeafAreaMm = 0.2;
constexpr double kLeafArea = 24 * 0.075;
constexpr double kLeastCanopy = 0.05;
constexpr double kWetFrom = 0.05;

// Lets a store of which a part is wet lose water at `potential` (mm/s, when all of it is wet):
// with u the cube root of the wetness, du/dt = -potential / (3 capacity). Returns the loss.
double evaporate(double& held_mm, double capacity_mm, double potential, double dt_s) {
    if (held_mm <= 0 || potential <= 0) return 0;
    const double before = std::cbrt(std::min(held_mm / capacity_mm, 1.0));
    const double after = std::max(before - potential * dt_s / (3 * capacity_mm), 0.0);
    const double loss = std::min(held_mm, held_mm - capacity_mm * after * after * after);
    held_mm = after > 0 ? held_mm - loss : 0.0;
    return loss;
}

// Fills a store from what falls on the part of the ground that it covers; the rest goes on.
double catch_some(double& held_mm, double capacity_mm, double share, double falls_mm) {
    const double caught = std::clamp(capacity_mm - held_mm, 0.0, share * falls_mm);
    held_mm += caught;
    return caught;
}

} // namespace

Held most_held(const SurfaceCover& cover) {
    const double canopy = std::clamp(cover.canopy_fraction, 0.0, 1.0);
    return {kHeldPerLeafAreaMm * kLeafArea * canopy, mulch_of(cover).holds_mm};
}

Below intercept(const HourDemand& hour, const SurfaceCover& cover, Held& held,
                double supply_mm_per_h, double surface_temp_c, double dt_s) {
    CHECK(supply_mm_per_h >= 0 && dt_s > 0);
    Below below;
    soil::SurfaceForcing& f = below.forcing;
    f = surface_forcing(hour, cover, supply_mm_per_h, surface_temp_c);
    const Held most = most_held(cover);
    if (held.sum_mm() <= 0 && most.sum_mm() <= 0) return below;

    // A canopy that is mown or straw that rots away lets go what it cannot hold any more.
    const Held keeps{std::min(held.leaves_mm, most.leaves_mm),
                     std::min(held.straw_mm, most.straw_mm)};
    below.spilled_mm = held.sum_mm() - keeps.sum_mm();
    held = keeps;

    const double hours = dt_s / 3600;
    const CoverDemand demand = cover_demand(hour, cover);
    const double canopy = std::clamp(cover.canopy_fraction, 0.0, 1.0);
    const double lies_on = mulch_of(cover).covers;
    double falls_mm = supply_mm_per_h * hours;
    double leaf_dew_mm = demand.leaf_dew_mm_per_h * hours;
    double ground_dew_mm = (demand.dew_mm_per_h - demand.leaf_dew_mm_per_h) * hours;
    leaf_dew_mm -= catch_some(held.leaves_mm, most.leaves_mm, 1, leaf_dew_mm);
    falls_mm -= catch_some(held.leaves_mm, most.leaves_mm, canopy, falls_mm);
    falls_mm -= catch_some(held.straw_mm, most.straw_mm, lies_on, falls_mm);
    ground_dew_mm -= catch_some(held.straw_mm, most.straw_mm, lies_on, ground_dew_mm);

    const double from_leaves =
        evaporate(held.leaves_mm, most.leaves_mm, demand.wet_leaves_mm_per_h / 3600, dt_s);
    const double open_mm_per_h = demand.open_evaporation_mm_per_h;
    const double from_straw =
        evaporate(held.straw_mm, most.straw_mm, lies_on * open_mm_per_h / 3600, dt_s);
    below.evaporated_mm = from_leaves + from_straw;

    f.supply_mm_per_h = (falls_mm + below.spilled_mm) / hours;
    f.dew_mm_per_h = (leaf_dew_mm + ground_dew_mm) / hours;
    f.transpiration_demand_mm_per_h =
        std::max(f.transpiration_demand_mm_per_h - from_leaves / hours, 0.0);
    f.evaporation_demand_mm_per_h =
        std::min(f.evaporation_demand_mm_per_h, std::max(open_mm_per_h - from_straw / hours, 0.0));
    return below;
}

BedFlows step_bed(const soil::Column& column, soil::ColumnState& water, Held& held,
                  const HourDemand& hour, const SurfaceCover& cover, double supply_mm_per_h,
                  double surface_temp_c, double dt_s) {
    const Below below = intercept(hour, cover, held, supply_mm_per_h, surface_temp_c, dt_s);
    BedFlows flows;
    flows.all = soil::step(column, water, below.forcing, dt_s);
    flows.cooling.soil_mm_per_h = flows.all.evaporation_mm * 3600 / dt_s;
    flows.cooling.cover_mm_per_h = (flows.all.transpiration_mm + below.evaporated_mm) * 3600 / dt_s;
    flows.all.evaporation_mm += below.evaporated_mm;
    flows.all.supply_mm = supply_mm_per_h / 3600 * dt_s;
    flows.all.dew_mm = cover_demand(hour, cover).dew_mm_per_h / 3600 * dt_s;
    return flows;
}

bool leaves_wet(const SurfaceCover& cover, const Held& held) {
    return cover.canopy_fraction >= kLeastCanopy &&
           held.leaves_mm > kWetFrom * most_held(cover).leaves_mm;
}

} // namespace firstmow::watering
