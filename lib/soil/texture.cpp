#include "soil/texture.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace firstmow::soil {

namespace {

constexpr std::array<std::string_view, 12> kKeys{"sand",
                                                 "loamy_sand",
                                                 "sandy_loam",
                                                 "loam",
                                                 "silt_loam",
                                                 "silt",
                                                 "sandy_clay_loam",
                                                 "clay_loam",
                                                 "silty_clay_loam",
                                                 "sandy_clay",
                                                 "silty_clay",
                                                 "clay"};

// Sand and clay of the class's representative point, Saxton and Rawls 2006, Table 3.
struct Point {
    double sand, clay;
};
constexpr std::array<Point, 12> kPoints{{
    {0.88, 0.05},
    {0.80, 0.05},
    {0.65, 0.10},
    {0.40, 0.20},
    {0.20, 0.15},
    {0.10, 0.05},
    {0.60, 0.25},
    {0.30, 0.35},
    {0.10, 0.35},
    {0.50, 0.40},
    {0.10, 0.45},
    {0.25, 0.50},
}};

constexpr double kFieldCapacityKpa = 33;
constexpr double kWiltingKpa = 1500;
constexpr double kWhole = 1 + 1e-9;
constexpr double kGrainDensity = 2.65; // g/cm3, of mineral grains and stones

} // namespace

std::string_view key(TextureClass texture) {
    return kKeys[static_cast<std::size_t>(texture)];
}

std::span<const std::string_view> texture_keys() {
    return kKeys;
}

std::optional<TextureClass> texture_by_key(std::string_view wanted) {
    const auto found = std::find(kKeys.begin(), kKeys.end(), wanted);
    if (found == kKeys.end()) return std::nullopt;
    return static_cast<TextureClass>(found - kKeys.begin());
}

Composition::Composition(TextureClass texture)
    : sand(kPoints[static_cast<std::size_t>(texture)].sand),
      clay(kPoints[static_cast<std::size_t>(texture)].clay) {}

Composition composition(TextureClass texture) {
    return Composition(texture);
}

namespace {

// The suction curve through field capacity and wilting point.
void set_power_law(Hydraulics& h) {
    h.b = (std::log(kWiltingKpa) - std::log(kFieldCapacityKpa)) /
          (std::log(h.field_capacity) - std::log(h.wilting_point));
    h.a_kpa = std::exp(std::log(kFieldCapacityKpa) + h.b * std::log(h.field_capacity));
}

// Denser or looser than usual: the large pores give or take most of the room, those that are still
// full at 33 kPa a fifth of it, and those below 1500 kPa none.
void set_density(Hydraulics& h, double factor) {
    const double usual = h.saturation;
    const double bulk_density = (1.0 - usual) * kGrainDensity * factor;
    h.saturation = 1.0 - bulk_density / kGrainDensity;
    h.field_capacity -= 0.2 * (usual - h.saturation);
}

// From fine earth to the whole soil. Suctions are those of the fine earth, which holds all the
// water; contents become shares of the whole.
void add_gravel(Hydraulics& h, double weight_share) {
    const double alpha = 1.0 - h.saturation; // density of the fine earth over that of stone
    const double volume_share = alpha * weight_share / (1.0 - weight_share * (1.0 - alpha));
    const double fine = 1.0 - volume_share;
    h.saturated_mm_per_h *= (1.0 - weight_share) / (1.0 - weight_share * (1.0 - 1.5 * alpha));
    h.saturation *= fine;
    h.field_capacity *= fine;
    h.wilting_point *= fine;
    h.a_kpa *= std::pow(fine, h.b);
}

// The water contents and the air entry of the fine earth, by the equations 1-10.
Hydraulics contents(const Composition& soil) {
    const double s = soil.sand;
    const double c = soil.clay;
    const double om = soil.organic_matter_pct;
    // First solutions (the `t`s), then their corrections.
    const double t1500 = -0.024 * s + 0.487 * c + 0.006 * om + 0.005 * s * om - 0.013 * c * om +
                         0.068 * s * c + 0.031;
    const double theta_1500 = t1500 + (0.14 * t1500 - 0.02);
    const double t33 = -0.251 * s + 0.195 * c + 0.011 * om + 0.006 * s * om - 0.027 * c * om +
                       0.452 * s * c + 0.299;
    const double theta_33 = t33 + (1.283 * t33 * t33 - 0.374 * t33 - 0.015);
    const double ts33 = 0.278 * s + 0.034 * c + 0.022 * om - 0.018 * s * om - 0.027 * c * om -
                        0.584 * s * c + 0.078;
    const double theta_s33 = ts33 + (0.636 * ts33 - 0.107);
    const double te = -21.67 * s - 27.93 * c - 81.97 * theta_s33 + 71.12 * s * theta_s33 +
                      8.29 * c * theta_s33 + 14.05 * s * c + 27.16;
    const double air_entry = te + (0.02 * te * te - 0.113 * te - 0.70);

    Hydraulics h;
    h.wilting_point = theta_1500;
    h.field_capacity = theta_33;
    h.saturation = theta_33 + theta_s33 - 0.097 * s + 0.043;
    // The air-entry regression leaves its domain for coarse sand; a pore that drains at less
    // than 0.5 kPa (50 mm of water) is no matric pore.
    h.air_entry_kpa = std::clamp(air_entry, 0.5, 20.0);
    if (soil.density_factor != 1) set_density(h, soil.density_factor);
    return h;
}

bool plausible(const Hydraulics& h) {
    return h.wilting_point >= 0.01 && h.field_capacity - h.wilting_point >= 0.01 &&
           h.saturation - h.field_capacity >= 0.02 && h.saturation <= 0.8;
}

} // namespace

bool described(const Composition& soil) {
    return soil.sand >= 0 && soil.clay >= 0 && soil.clay <= 0.6 &&
           soil.sand + soil.clay <= kWhole && soil.organic_matter_pct >= 0 &&
           soil.organic_matter_pct <= 8 && soil.gravel_pct >= 0 && soil.gravel_pct <= 60 &&
           soil.density_factor >= 0.9 && soil.density_factor <= 1.3 && plausible(contents(soil));
}

Hydraulics hydraulics(const Composition& soil) {
    CHECK(described(soil));
    Hydraulics h = contents(soil);
    set_power_law(h);
    h.saturated_mm_per_h = 1930.0 * std::pow(h.saturation - h.field_capacity, 3.0 - 1.0 / h.b);
    if (soil.gravel_pct > 0) add_gravel(h, soil.gravel_pct / 100);
    return h;
}

Hydraulics compost() {
    Hydraulics h;
    h.saturation = 0.75;
    h.field_capacity = 0.38;
    h.wilting_point = 0.22;
    h.saturated_mm_per_h = 200;
    h.air_entry_kpa = 0.5;
    h.organic = true;
    set_power_law(h);
    return h;
}

double Hydraulics::potential_kpa(double theta) const {
    if (theta >= saturation) return 0;
    if (theta >= field_capacity) {
        const double drained = (saturation - theta) / (saturation - field_capacity);
        return -(air_entry_kpa + drained * (kFieldCapacityKpa - air_entry_kpa));
    }
    CHECK(theta > 0);
    return -a_kpa * std::pow(theta, -b);
}

double Hydraulics::water_content(double potential_kpa) const {
    const double suction = -potential_kpa;
    if (suction <= air_entry_kpa) return saturation;
    if (suction <= kFieldCapacityKpa)
        return saturation - (suction - air_entry_kpa) / (kFieldCapacityKpa - air_entry_kpa) *
                                (saturation - field_capacity);
    return std::pow(suction / a_kpa, -1.0 / b);
}

double Hydraulics::conductivity_mm_per_h(double theta) const {
    const double wetness = std::min(theta / saturation, 1.0);
    return saturated_mm_per_h * std::pow(wetness, 3.0 + 2.0 * b);
}

} // namespace firstmow::soil
