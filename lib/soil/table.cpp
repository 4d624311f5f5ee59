#include "soil/table.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>

namespace firstmow::soil {

namespace {

constexpr int kCells = 1024;
constexpr double kOvenDryKpa = -1e6;         // pF 7
constexpr double kElasticFraction = 0.02;    // volume that the elastic part may hold
constexpr double kElasticHeadMm = 1e5;       // head per unit of water content above saturation
constexpr double kVapourInAirMm2PerS = 25.0; // at 25 deg C (Monteith and Unsworth, Table A.3)
// Molar volume of water over R T: Kelvin's equation at 25 deg C, per kPa.
constexpr double kKelvinPerKpa = 1.8069e-2 / (8.314462 * 298.15);

double head_mm(const Hydraulics& soil, double theta) {
    if (theta >= soil.saturation)
        return -soil.air_entry_kpa * kMmHeadPerKpa + (theta - soil.saturation) * kElasticHeadMm;
    return soil.potential_kpa(theta) * kMmHeadPerKpa;
}

// Vapour finds its way through the air-filled pores: Millington and Quirk 1961.
double vapour_diffusivity(const Hydraulics& soil, double theta) {
    const double air = std::max(soil.saturation - theta, 0.0);
    return kVapourInAirMm2PerS * std::pow(air, 10.0 / 3.0) / (soil.saturation * soil.saturation);
}

HeatConduction heat_conduction_of(const Hydraulics& soil) {
    const double porosity = soil.saturation;
    HeatConduction heat;
    heat.dry_w_m_k = 0.75 * std::pow(10.0, -1.2 * porosity);
    heat.saturated_w_m_k = std::pow(3.0, 1.0 - porosity) * std::pow(0.6, porosity);
    // Sands carry heat well as soon as their grains are bridged, clays only when wetter.
    heat.kappa = soil.b < 5.0 ? 3.55 : 1.9;
    return heat;
}

} // namespace

double saturation_vapour_kpa(double temp_c) {
    return 0.6108 * std::exp(17.27 * temp_c / (temp_c + 237.3));
}

double vapour_density_ratio(double temp_c) {
    // kPa -> kg/m3 by the gas constant of water vapour, 461.5 J/(kg K), over 1000 kg/m3.
    return saturation_vapour_kpa(temp_c) / (461.5 * (temp_c + 273.15));
}

double relative_vapour_diffusivity(double temp_c) {
    const double kelvin_ratio = (temp_c + 273.15) / 273.15;
    return 21.2 / kVapourInAirMm2PerS * kelvin_ratio * kelvin_ratio;
}

double pore_humidity(double potential_kpa) {
    return std::exp(kKelvinPerKpa * potential_kpa);
}

SoilTable::SoilTable(const Hydraulics& soil) : hydraulics_(soil), heat_(heat_conduction_of(soil)) {
    driest_ = soil.water_content(kOvenDryKpa);
    cell_ = (soil.saturation - driest_) / kCells;
    per_cell_ = 1.0 / cell_;
    const int elastic_cells = static_cast<int>(std::ceil(kElasticFraction / cell_));
    const int cells = kCells + elastic_cells;
    fullest_ = driest_ + cells * cell_;

    double integral = 0;
    rows_.reserve(static_cast<std::size_t>(cells) + 1);
    for (int i = 0; i <= cells; ++i) {
        const double theta = driest_ + i * cell_;
        if (i > 0) {
            // The integral of K over head, by midpoints of the cell's parts: K varies by many
            // powers of ten over the table but by little within a part.
            constexpr int kParts = 16;
            for (int part = 0; part < kParts; ++part) {
                const double low = theta - cell_ + cell_ * part / kParts;
                const double high = low + cell_ / kParts;
                const double k = soil.conductivity_mm_per_h((low + high) / 2) / 3600.0;
                integral += k * (head_mm(soil, high) - head_mm(soil, low));
            }
        }
        if (i == kCells) saturated_flux_potential_ = integral;
        rows_.push_back({soil.conductivity_mm_per_h(theta) / 3600.0, integral,
                         pore_humidity(std::min(head_mm(soil, theta), 0.0) / kMmHeadPerKpa),
                         vapour_diffusivity(soil, theta)});
    }
}

SoilTable::Point SoilTable::at(double theta) const {
    const double x = (theta - driest_) * per_cell_;
    const auto last = static_cast<double>(rows_.size() - 2);
    const double cell = std::clamp(std::floor(x), 0.0, last);
    const auto i = static_cast<std::size_t>(cell);
    const double f = x - cell;
    const Row& a = rows_[i];
    const Row& b = rows_[i + 1];
    Point p;
    p.d_conductivity = (b.conductivity - a.conductivity) * per_cell_;
    p.conductivity = a.conductivity + f * (b.conductivity - a.conductivity);
    p.d_flux_potential = (b.flux_potential - a.flux_potential) * per_cell_;
    p.flux_potential = a.flux_potential + f * (b.flux_potential - a.flux_potential);
    p.d_humidity = (b.humidity - a.humidity) * per_cell_;
    p.humidity = a.humidity + f * (b.humidity - a.humidity);
    p.vapour_diffusivity = a.vapour_diffusivity + f * (b.vapour_diffusivity - a.vapour_diffusivity);
    return p;
}

const SoilTable& table(TextureClass texture) {
    static const auto tables = [] {
        std::array<std::unique_ptr<SoilTable>, 12> all;
        for (std::size_t i = 0; i < all.size(); ++i)
            all[i] =
                std::make_unique<SoilTable>(hydraulics(composition(static_cast<TextureClass>(i))));
        return all;
    }();
    return *tables[static_cast<std::size_t>(texture)];
}

} // namespace firstmow::soil
