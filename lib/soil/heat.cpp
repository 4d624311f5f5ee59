#include "soil/heat.hpp"

#include "base/check.hpp"
#include "soil/equations.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::soil {

namespace {

constexpr double kStefanBoltzmann = 5.670e-8; // W/m2/K4
constexpr double kAirHeatCapacity = 1200;     // J/m3/K at 20 deg C, sea level
constexpr double kDeepLayerMm = 700;          // below the column: reaches the annual wave

double conductivity_w_m_k(const SoilTable& soil, double theta) {
    const double wet = std::clamp(theta / soil.hydraulics().saturation, 0.0, 1.0);
    const HeatConduction& heat = soil.heat_conduction();
    const double kersten = heat.kappa * wet / (1.0 + (heat.kappa - 1.0) * wet);
    return heat.dry_w_m_k + (heat.saturated_w_m_k - heat.dry_w_m_k) * kersten;
}

double capacity_j_m3_k(const Hydraulics& soil, double theta) {
    return 2.0e6 * (1.0 - soil.saturation) + 4.18e6 * theta;
}

// Heat transfer to the air, W/m2/K: the logarithmic wind profile over a surface 5 mm rough (0.5 mm
// for heat), and free convection over a hot flat surface in calm air (McAdams: 1.52 dT^(1/3)).
double air_transfer(double wind_m_s, double canopy_fraction, double excess_c) {
    constexpr double kBareTimesWind = 295;  // ln(2/0.005) ln(2/0.0005) / 0.41^2
    constexpr double kGrassTimesWind = 208; // of the reference grass (FAO-56 Box 4)
    const double wind_by_resistance =
        1 / kBareTimesWind + canopy_fraction * (1 / kGrassTimesWind - 1 / kBareTimesWind);
    return kAirHeatCapacity * std::max(wind_m_s, 0.3) * wind_by_resistance +
           1.52 * std::cbrt(std::max(excess_c, 0.0));
}

} // namespace

HeatState uniform_heat(const Column& column, double temp_c) {
    HeatState heat;
    heat.skin_c = temp_c;
    for (int i = 0; i <= column.layers.count; ++i)
        heat.layer_c[static_cast<std::size_t>(i)] = temp_c;
    return heat;
}

void heat_step(const Column& column, const ColumnState& water, HeatState& heat,
               const SkinForcing& forcing, double dt_s) {
    CHECK(dt_s > 0 && forcing.exchange > 0 && forcing.exchange <= 1);
    CHECK(forcing.through >= 0 && forcing.through <= forcing.exchange);
    const auto n = static_cast<std::size_t>(column.layers.count);

    // What half of a layer resists, m2K/W, and what it holds, W/m2K; the deep layer last.
    std::array<double, kMaxLayers + 1> resists; // set up to n
    std::array<double, kMaxLayers + 1> holds;   // set up to n
    for (std::size_t i = 0; i < n; ++i) {
        const double dz_m = column.layers.thickness_mm[i] / 1000.0;
        resists[i] = dz_m / 2 / conductivity_w_m_k(*column.soil[i], water.theta[i]);
        holds[i] = capacity_j_m3_k(column.soil[i]->hydraulics(), water.theta[i]) * dz_m / dt_s;
    }
    const SoilTable& deep = *column.soil[n - 1];
    const double deep_theta = deep.hydraulics().field_capacity;
    resists[n] = kDeepLayerMm / 1000.0 / 2 / conductivity_w_m_k(deep, deep_theta);
    holds[n] = capacity_j_m3_k(deep.hydraulics(), deep_theta) * kDeepLayerMm / 1000.0 / dt_s;

    // The cover is as warm as (its radiation - its evaporation) / losses makes it, and the soil has
    // `exchange - through` of its exchange with the cover instead of with air and sky.
    // The skin: gains - losses * T_skin + to_first * (T_0 - T_skin) = 0.
    const double air_k = forcing.air_temp_c + 273.15;
    const double losses =
        forcing.exchange * (4.0 * 0.97 * kStefanBoltzmann * air_k * air_k * air_k +
                            air_transfer(forcing.wind_2m_m_s, forcing.canopy_fraction,
                                         heat.skin_c - forcing.air_temp_c));
    const double indirect =
        forcing.through < 1 ? (forcing.exchange - forcing.through) / (1 - forcing.through) : 0.0;
    const double gains = forcing.exchange * forcing.net_radiation_w_m2 -
                         indirect * forcing.cover_latent_w_m2 - forcing.latent_w_m2 +
                         losses * forcing.air_temp_c;
    const double to_first = 1 / resists[0];
    // Eliminated: flux into layer 0 = through * (gains / losses - T_0).
    const double through = losses * to_first / (losses + to_first);

    Equations eq;
    double above = through;
    for (std::size_t i = 0; i <= n; ++i) {
        const double below = i == n ? 0.0 : 1 / (resists[i] + resists[i + 1]);
        eq.above[i] = -above;
        eq.own[i] = holds[i] + above + below;
        eq.below[i] = -below;
        eq.gain[i] = holds[i] * heat.layer_c[i];
        above = below;
    }
    eq.gain[0] += through * gains / losses;
    eq.solve(static_cast<int>(n) + 1, heat.layer_c.data());
    heat.skin_c = (gains + to_first * heat.layer_c[0]) / (losses + to_first);
}

double temp_at_c(const Column& column, const HeatState& heat, double depth_mm) {
    double above_mm = 0;
    double above_c = heat.skin_c;
    for (std::size_t i = 0; i < static_cast<std::size_t>(column.layers.count); ++i) {
        const double middle_mm = column.layers.bottom_mm[i] - column.layers.thickness_mm[i] / 2;
        if (depth_mm <= middle_mm)
            return above_c +
                   (heat.layer_c[i] - above_c) * (depth_mm - above_mm) / (middle_mm - above_mm);
        above_mm = middle_mm;
        above_c = heat.layer_c[i];
    }
    return above_c;
}

double seed_temp_c(const Column& column, const HeatState& heat) {
    return heat.layer_c[static_cast<std::size_t>(column.layers.seed_layers - 1)];
}

} // namespace firstmow::soil
