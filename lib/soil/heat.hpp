// Soil temperature, from the sun-warmed surface down: what germination runs on, and what drives
// vapour out of a drying crust.
//
// The skin has no mass: net radiation = sensible heat to the air + latent heat + heat into the
// soil. Below it heat is conducted through the layers of the column and one deep layer, solved
// implicitly. Conductivity by Cote and Konrad 2005 (Can. Geotech. J. 42:443-458), capacity by
// de Vries 1963. Temperatures in deg C, fluxes in W/m2.
#pragma once

#include "soil/column.hpp"

namespace firstmow::soil {

struct HeatState {
    double skin_c = 15;                           // of the surface
    std::array<double, kMaxLayers + 1> layer_c{}; // of each layer, then the deep layer
    bool operator==(const HeatState&) const = default;
};
HeatState uniform_heat(const Column& column, double temp_c);

struct SkinForcing {
    double air_temp_c = 15;
    double wind_2m_m_s = 2;
    double canopy_fraction = 0;    // of grass, 0..1: rougher than bare soil
    double net_radiation_w_m2 = 0; // of the soil surface if it were as warm as the air
    // What stands or lies above the soil, leaves and straw, takes no heat up: what it gets of the
    // radiation goes to its own evaporation, to the air, and down.
    double through = 1;           // of the radiation, what comes through it, 0..1
    double exchange = 1;          // of the exchange with air and sky, what is left, through..1
    double cover_latent_w_m2 = 0; // its evaporation, transpiration too
    double latent_w_m2 = 0;       // evaporation at the surface
};

// Lets `dt_s` pass; the water of `water` sets conductivity and capacity.
void heat_step(const Column& column, const ColumnState& water, HeatState& heat,
               const SkinForcing& forcing, double dt_s);

// Linear between the skin and the middles of the layers; `depth_mm` 0..300.
double temp_at_c(const Column& column, const HeatState& heat, double depth_mm);
// At the seed depth.
double seed_temp_c(const Column& column, const HeatState& heat);

} // namespace firstmow::soil
