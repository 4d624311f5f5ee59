#include "soil/table.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>

namespace firstmow::soil {

namespace {

constexpr int kCells = 1024;
constexpr int kParts = 16; // of a cell, for its integrals
constexpr std::size_t kHumidityCells = 128;
constexpr double kOvenDryKpa = -1e6;      // pF 7
constexpr double kLeastAirEntryKpa = 0.5; // of any soil
constexpr int kHeadCellsTo33Kpa = 209;    // of the tables over head: 2 % each
constexpr double kHighestHeadMm = 1e5;
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

double humidity_at(double head_mm) {
    return pore_humidity(std::min(head_mm, 0.0) / kMmHeadPerKpa);
}

HeatConduction heat_conduction_of(const Hydraulics& soil) {
    const double porosity = soil.saturation;
    HeatConduction heat;
    if (soil.organic) {
        heat.dry_w_m_k = 0.30 * std::pow(10.0, -0.87 * porosity);
        heat.saturated_w_m_k = std::pow(0.25, 1.0 - porosity) * std::pow(0.6, porosity);
        heat.kappa = 0.6;
        return heat;
    }
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

double vapour_density_ratio(double pressure_kpa, double temp_c) {
    // kPa -> kg/m3 by the gas constant of water vapour, 461.5 J/(kg K), over 1000 kg/m3.
    return pressure_kpa / (461.5 * (temp_c + 273.15));
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

    // The integrals of K over head and of the diffusivity over humidity, by midpoints of the
    // cell's parts: K varies by many powers of ten over the table but by little within a part.
    double liquid = 0;
    double vapour = 0;
    double saturated = 0; // the first where the soil is just full
    double head = head_mm(soil, driest_);
    double humidity = humidity_at(head);
    over_humidity_.assign(kHumidityCells + 1, 0.0);
    std::size_t next_humidity = 0;
    const auto reach = [&](double to_humidity, double diffusivity) {
        // What lies drier than the table begins is taken as the driest soil.
        for (; next_humidity <= kHumidityCells; ++next_humidity) {
            const double at_humidity = static_cast<double>(next_humidity) / kHumidityCells;
            if (at_humidity > to_humidity) break;
            over_humidity_[next_humidity] = vapour + (at_humidity - humidity) * diffusivity;
        }
    };
    reach(humidity, vapour_diffusivity(soil, driest_));
    rows_.reserve(static_cast<std::size_t>(cells) + 1);
    for (int i = 0; i <= cells; ++i) {
        const double theta = driest_ + i * cell_;
        for (int part = i > 0 ? 0 : kParts; part < kParts; ++part) {
            const double low = theta - cell_ + cell_ * part / kParts;
            const double high = low + cell_ / kParts;
            const double k = soil.conductivity_mm_per_h((low + high) / 2) / 3600.0;
            const double diffusivity = vapour_diffusivity(soil, (low + high) / 2);
            const double to_head = head_mm(soil, high);
            const double to_humidity = humidity_at(to_head);
            reach(to_humidity, diffusivity);
            liquid += k * (to_head - head);
            vapour += diffusivity * (to_humidity - humidity);
            head = to_head;
            humidity = to_humidity;
        }
        if (i == kCells) saturated = liquid;
        rows_.push_back({soil.conductivity_mm_per_h(theta) / 3600.0, liquid, vapour});
    }
    ponded_flux_potential_ =
        saturated + soil.air_entry_kpa * kMmHeadPerKpa * soil.saturated_mm_per_h / 3600.0;
    last_cell_ = static_cast<double>(rows_.size() - 2);
    for (; next_humidity <= kHumidityCells; ++next_humidity)
        over_humidity_[next_humidity] = vapour;

    over_head_.reserve(head_grid().size());
    for (const double wanted : head_grid()) {
        const double above_entry = wanted + soil.air_entry_kpa * kMmHeadPerKpa;
        AtHead row;
        if (above_entry >= 0) {
            row.theta = soil.saturation;
            row.flux_potential = saturated + above_entry * soil.saturated_mm_per_h / 3600.0;
            row.vapour_potential = vapour;
        } else {
            row.theta = soil.water_content(wanted / kMmHeadPerKpa);
            const Point point = at(row.theta);
            row.flux_potential = point.flux_potential;
            row.vapour_potential = point.vapour_potential;
        }
        over_head_.push_back(row);
    }
}

std::span<const double> head_grid() {
    static const auto grid = [] {
        // A row at 33 kPa, where every soil's curve has its corner.
        const double cell = std::log(33 / kLeastAirEntryKpa) / kHeadCellsTo33Kpa;
        const int cells = static_cast<int>(std::log(-kOvenDryKpa / kLeastAirEntryKpa) / cell) + 1;
        std::vector<double> heads;
        for (int i = cells; i >= 0; --i)
            heads.push_back(-kLeastAirEntryKpa * kMmHeadPerKpa * std::exp(i * cell));
        heads.push_back(kHighestHeadMm);
        return heads;
    }();
    return grid;
}

std::shared_ptr<const SoilTable> table_of(const Hydraulics& hydraulics) {
    static const auto classes = [] {
        std::array<std::shared_ptr<const SoilTable>, 12> all;
        for (std::size_t i = 0; i < all.size(); ++i)
            all[i] = std::make_shared<const SoilTable>(
                soil::hydraulics(composition(static_cast<TextureClass>(i))));
        return all;
    }();
    for (const auto& known : classes)
        if (known->hydraulics() == hydraulics) return known;
    return std::make_shared<const SoilTable>(hydraulics);
}

} // namespace firstmow::soil
