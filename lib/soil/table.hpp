// The hydraulic functions of one soil, tabulated over water content so that a step costs no pow().
//
// Heads are in mm of water (negative: suction), conductivities in mm/s. Above saturation the
// table goes on a little way with a steep head, so that positive pressure has a place in the
// same variable: a layer that is full holds up to 2 % more "elastically", never noticed outside.
#pragma once

#include "soil/texture.hpp"

#include <vector>

namespace firstmow::soil {

inline constexpr double kMmHeadPerKpa = 101.972; // 1 kPa of water at 4 deg C, g = 9.80665 m/s2

// FAO-56 Eq. 11. The weather room has the same formula; neither room sees the other.
double saturation_vapour_kpa(double temp_c);
// Water vapour density of saturated air over the density of water (ideal gas; FAO-56 Eq. 11 for
// the pressure). Multiplied with a diffusivity it makes a vapour flux in mm of water.
double vapour_density_ratio(double temp_c);
// Diffusivity of vapour in air over its value at 25 deg C: it goes with the square of the absolute
// temperature (21.2 mm2/s at 0 deg C; Campbell 1985, Soil Physics with BASIC, chapter 3).
double relative_vapour_diffusivity(double temp_c);
// Relative humidity (0..1) of the air in soil at a potential <= 0, 25 deg C (Kelvin's equation).
double pore_humidity(double potential_kpa);

// How a soil conducts heat: Cote and Konrad 2005, Can. Geotech. J. 42:443-458.
struct HeatConduction {
    double dry_w_m_k = 0;
    double saturated_w_m_k = 0;
    double kappa = 0; // how soon water bridges the grains
};

class SoilTable {
public:
    explicit SoilTable(const Hydraulics& hydraulics);

    // Values at a water content and their slopes within its cell of the table.
    struct Point {
        double conductivity, d_conductivity;     // mm/s
        double flux_potential, d_flux_potential; // integral of K over head, mm2/s
        double humidity, d_humidity;             // of the pore air, 0..1
        double vapour_diffusivity; // mm2/s at 25 deg C, of vapour through the air-filled pores
    };
    Point at(double theta) const;

    const Hydraulics& hydraulics() const { return hydraulics_; }
    const HeatConduction& heat_conduction() const { return heat_; }
    double driest() const { return driest_; }   // oven-dry end of the table
    double fullest() const { return fullest_; } // end of the elastic part
    double saturated_flux_potential() const { return saturated_flux_potential_; }

private:
    struct Row {
        double conductivity, flux_potential, humidity, vapour_diffusivity;
    };
    Hydraulics hydraulics_;
    HeatConduction heat_;
    double driest_ = 0;
    double fullest_ = 0;
    double cell_ = 0;
    double per_cell_ = 0;
    double saturated_flux_potential_ = 0;
    std::vector<Row> rows_;
};

// The table of a texture class; made once, shared by all columns (thread-safe).
const SoilTable& table(TextureClass texture);

} // namespace firstmow::soil
