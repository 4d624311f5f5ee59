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
constexpr std::array<Composition, 12> kCompositions{{
    {0.88, 0.05, 2.5},
    {0.80, 0.05, 2.5},
    {0.65, 0.10, 2.5},
    {0.40, 0.20, 2.5},
    {0.20, 0.15, 2.5},
    {0.10, 0.05, 2.5},
    {0.60, 0.25, 2.5},
    {0.30, 0.35, 2.5},
    {0.10, 0.35, 2.5},
    {0.50, 0.40, 2.5},
    {0.10, 0.45, 2.5},
    {0.25, 0.50, 2.5},
}};

constexpr double kFieldCapacityKpa = 33;
constexpr double kWiltingKpa = 1500;

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

Composition composition(TextureClass texture) {
    return kCompositions[static_cast<std::size_t>(texture)];
}

Hydraulics hydraulics(const Composition& soil) {
    const double s = soil.sand;
    const double c = soil.clay;
    const double om = soil.organic_matter_pct;
    CHECK(s >= 0 && c >= 0 && s + c <= 1 && om >= 0 && om <= 8);

    // Equations 1-5 of the paper: first solutions (the `t`s), then their corrections.
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
    h.b = (std::log(kWiltingKpa) - std::log(kFieldCapacityKpa)) /
          (std::log(theta_33) - std::log(theta_1500));
    h.a_kpa = std::exp(std::log(kFieldCapacityKpa) + h.b * std::log(theta_33));
    h.saturated_mm_per_h = 1930.0 * std::pow(h.saturation - theta_33, 3.0 - 1.0 / h.b);
    // The air-entry regression leaves its domain for coarse sand; a pore that drains at less
    // than 0.5 kPa (50 mm of water) is no matric pore.
    h.air_entry_kpa = std::clamp(air_entry, 0.5, 20.0);
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
