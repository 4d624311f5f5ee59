// The seedbed column: where a millimetre of water comes from and where it goes.
//
//   rain, sprinkling, dew                     evaporation
//            |                                    ^
//   ~~~~ surface film and puddles (pond) ~~~~ --> runoff, beyond what the surface holds
//            |  intake: at most what the soil takes
//   ---- 0 to 0.5 mm ---  |
//   ---- 0.5 to 1 mm ---  |  the seed zone: the layers from the
//   ---- ...        ----  |  surface to the seed depth (here 6 mm)
//   ---- 4.7 to 6 mm ---  |
//   ---- 6 to 7.6 mm ---       roots drink (transpiration) from every
//   ---- ...        ----       layer that they reach, the top ones too
//   ---- 225 to 300 mm -
//            |
//            v  drainage
//
// Between layers water moves as liquid (Darcy-Buckingham) and as vapour (Fick, through the
// air-filled pores; without it a dry crust would seal the bed). What is differenced is the integral
// of conductivity over head and of diffusivity over humidity, which stays true on layers that are
// thick against the gradient. Each step is
// one implicit solution, linear in the changes of water content, so what leaves one layer enters
// the next exactly; a step in which a layer changes much is cut into shorter ones.
//
// The ground may be of several soils one over the other. Where two touch, the head is the same on
// both sides and what leaves the one enters the other: the head there is sought in each solution.
//
// Units: mm, mm/h in the interface, seconds for steps, water contents as volume fractions.
#pragma once

#include "soil/ground.hpp"
#include "soil/table.hpp"

#include <array>
#include <memory>
#include <span>
#include <vector>

namespace firstmow::soil {

inline constexpr int kMaxLayers = 80;

// Thin layers at the top, thick ones below, with a boundary at the seed depth.
struct Layering {
    int count = 0;
    int seed_layers = 0; // the first so many make the seed zone
    std::array<double, kMaxLayers> thickness_mm{};
    std::array<double, kMaxLayers> bottom_mm{};
    std::array<double, kMaxLayers> per_gap{}; // 1 / mm between the middles of a layer and the next
};
// The engine's grid down to 300 mm. The seed depth takes the place of the boundary that is nearest
// to it, and so do the depths where soils meet; one that falls within 0.3 mm of another of them is
// moved onto it. `seed_depth_mm` 1..25.
Layering engine_layering(double seed_depth_mm, std::span<const double> meet_mm = {});

// What stays the same for a zone.
struct Column {
    Layering layers;
    std::array<const SoilTable*, kMaxLayers> soil{};         // of each layer
    std::vector<std::shared_ptr<const SoilTable>> materials; // the same from the top down
    std::vector<int> contacts;                               // layers that lie on another soil
    double pond_capacity_mm = 2; // film and puddles that the surface holds before water runs off
    // Of what the texture would let in: less for a crusted or compacted surface, > 0.
    double intake_factor = 1;
};
Column make_column(const Ground& ground, double seed_depth_mm, double slope_pct);
Column make_column(const Composition& soil, double seed_depth_mm, double slope_pct);
// With every layer cut into `parts`: for studies of the grid's own error.
Column refined(const Column& coarse, int parts);

// What changes.
struct ColumnState {
    std::array<double, kMaxLayers> theta{};
    double pond_mm = 0;
    bool operator==(const ColumnState&) const = default;
};
// Every layer at this matric potential (kPa, < 0).
ColumnState uniform_state(const Column& column, double potential_kpa);

// The weather at the surface during a step.
struct SurfaceForcing {
    double supply_mm_per_h = 0;               // rain and sprinkling together, >= 0
    double dew_mm_per_h = 0;                  // >= 0
    double evaporation_demand_mm_per_h = 0;   // what a wet surface would lose, >= 0
    double transpiration_demand_mm_per_h = 0; // what unstressed plants would drink, >= 0
    double root_depth_mm = 0;
    double stress_depletion = 0.5; // of the roots' water: beyond it they drink less (p, 0..1)
    double surface_temp_c = 20;    // of the soil surface: drives vapour
    double air_vapour_kpa = 1;     // of the air above: the dry limit of the surface
};

// Sums over a step, mm.
struct Flows {
    double supply_mm = 0;
    double dew_mm = 0;
    double evaporation_mm = 0;
    double transpiration_mm = 0;
    double runoff_mm = 0;
    double drainage_mm = 0;
    double intake_mm = 0; // through the surface into the soil
    Flows& operator+=(const Flows& other);
    bool operator==(const Flows&) const = default;
};

// Lets `dt_s` seconds (1..3600) pass. Conserves: storage after - storage before = supply + dew
// - evaporation - transpiration - runoff - drainage, to rounding.
Flows step(const Column& column, ColumnState& state, const SurfaceForcing& forcing, double dt_s);

// --- Reading a column ------------------------------------------------------------------------
double storage_mm(const Column& column, const ColumnState& state); // soil and pond
// The same from the surface down to just `depth_mm`.
double storage_mm(const Column& column, const ColumnState& state, double depth_mm);
double seed_zone_mm(const Column& column, const ColumnState& state);
// The matric potential (kPa, <= 0) of the mean water content from the surface to the seed depth.
// Over several soils: the potential at which they would together hold the water that they hold,
// had it come to rest among them.
double seed_zone_kpa(const Column& column, const ColumnState& state);
// The same to any depth (whole layers that begin above `depth_mm`).
double mean_kpa(const Column& column, const ColumnState& state, double depth_mm);
// The potential at which the soil down to `depth_mm` holds more water by `theta` than at
// `potential_kpa`.
double kpa_with_more(const Column& column, double depth_mm, double potential_kpa, double theta);
// Available water used up, 0 (no layer below field capacity) .. 1 (wilting point), to a depth. As
// roots drink: what a layer holds beyond field capacity makes up for no other's drought.
double depletion_fraction(const Column& column, const ColumnState& state, double depth_mm);
// Available water of the soil down to just `depth_mm` at field capacity, mm (TAW, FAO-56 Eq. 82).
double available_mm(const Column& column, double depth_mm);
// Whether the soil below `depth_mm` holds as much as its field capacity or less, as a whole.
bool drained_below(const Column& column, const ColumnState& state, double depth_mm);
// The depth to which the soil is wetter than `potential_kpa`, counted from the surface.
double wetted_depth_mm(const Column& column, const ColumnState& state, double potential_kpa);

} // namespace firstmow::soil
