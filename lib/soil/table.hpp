// The hydraulic functions of one soil, tabulated over water content so that a step costs no pow().
//
// Heads are in mm of water (negative: suction), conductivities in mm/s. Above saturation the
// table goes on a little way with a steep head, so that positive pressure has a place in the
// same variable: a layer that is full holds up to 2 % more "elastically", never noticed outside.
#pragma once

#include "soil/texture.hpp"

#include <algorithm>
#include <memory>
#include <span>
#include <vector>

namespace firstmow::soil {

inline constexpr double kMmHeadPerKpa = 101.972; // 1 kPa of water at 4 deg C, g = 9.80665 m/s2

// FAO-56 Eq. 11. The weather room has the same formula; neither room sees the other.
double saturation_vapour_kpa(double temp_c);
// Water vapour density of saturated air over the density of water (ideal gas; FAO-56 Eq. 11 for
// the pressure). Multiplied with a diffusivity it makes a vapour flux in mm of water.
double vapour_density_ratio(double pressure_kpa, double temp_c);
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
        double conductivity, d_conductivity;         // mm/s
        double flux_potential, d_flux_potential;     // integral of K over head, mm2/s
        double vapour_potential, d_vapour_potential; // integral of the diffusivity over humidity
    };
    Point at(double theta) const {
        const double x = (theta - driest_) * per_cell_;
        const double cell = static_cast<double>(static_cast<int>(std::clamp(x, 0.0, last_cell_)));
        const double f = x - cell;
        const Row* const row = rows_.data() + static_cast<std::size_t>(cell);
        const Row& a = row[0];
        const Row& b = row[1];
        Point p;
        const double k = b.conductivity - a.conductivity;
        const double phi = b.flux_potential - a.flux_potential;
        const double v = b.vapour_potential - a.vapour_potential;
        p.conductivity = a.conductivity + f * k;
        p.flux_potential = a.flux_potential + f * phi;
        p.vapour_potential = a.vapour_potential + f * v;
        p.d_conductivity = k * per_cell_;
        p.d_flux_potential = phi * per_cell_;
        p.d_vapour_potential = v * per_cell_;
        return p;
    }
    // The vapour potential where the pore air has this humidity, 0..1.
    double vapour_potential_at(double humidity) const {
        const double x = humidity * static_cast<double>(over_humidity_.size() - 1);
        const auto i = std::min(static_cast<std::size_t>(x), over_humidity_.size() - 2);
        return over_humidity_[i] +
               (x - static_cast<double>(i)) * (over_humidity_[i + 1] - over_humidity_[i]);
    }

    // The same soil over head, at the heads of `head_grid()`, for what two soils that touch have
    // in common is the head.
    struct AtHead {
        double flux_potential, vapour_potential, theta; // of full soil its saturation
    };
    std::span<const AtHead> over_head() const { return over_head_; }

    const Hydraulics& hydraulics() const { return hydraulics_; }
    const HeatConduction& heat_conduction() const { return heat_; }
    double driest() const { return driest_; }   // oven-dry end of the table
    double fullest() const { return fullest_; } // end of the elastic part
    // Under standing water: the head is 0, above that at which the soil is just full.
    double ponded_flux_potential() const { return ponded_flux_potential_; }

private:
    struct Row {
        double conductivity, flux_potential, vapour_potential;
    };
    Hydraulics hydraulics_;
    HeatConduction heat_;
    double driest_ = 0;
    double fullest_ = 0;
    double cell_ = 0;
    double per_cell_ = 0;
    double last_cell_ = 0;
    double ponded_flux_potential_ = 0;
    std::vector<Row> rows_;
    std::vector<AtHead> over_head_;
    std::vector<double> over_humidity_;
};

// Heads in mm from oven-dry to wet, the last one far above 0: between neighbours a soil's flux
// potential, water content and humidity may be taken as linear in the logarithm of the suction, in
// the last cell in the head.
std::span<const double> head_grid();

// The table of a soil; those of the texture classes are made once and shared (thread-safe).
std::shared_ptr<const SoilTable> table_of(const Hydraulics& hydraulics);

} // namespace firstmow::soil
