#include "judge/vapour.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::judge {
namespace {

constexpr double kGas = 8.314462;    // J/mol/K
constexpr double kMolar = 0.0180153; // kg/mol
constexpr double kGravity = 9.80665;

double kelvin(double temp_c) {
    return temp_c + 273.15;
}

} // namespace

double saturation_kpa(double temp_c) {
    return 0.6108 * std::exp(17.27 * temp_c / (temp_c + 237.3));
}

double saturated_density_ratio(double temp_c) {
    return saturation_kpa(temp_c) * 1000 * kMolar / (kGas * kelvin(temp_c)) / 1000;
}

double kelvin_factor_per_mm(double temp_c) {
    return kMolar * kGravity / (kGas * kelvin(temp_c)) * 1e-3;
}

double air_dry_head_mm(double air_vapour_kpa, double surface_temp_c) {
    // Kept off 0 and 1, where the head would be endless or no limit at all.
    const double humidity =
        std::clamp(air_vapour_kpa / saturation_kpa(surface_temp_c), 0.02, 0.999);
    return std::log(humidity) / kelvin_factor_per_mm(surface_temp_c);
}

double free_air_diffusivity_mm2_s(double temp_c) {
    const double ratio = kelvin(temp_c) / 273.15;
    return 21.2 * ratio * ratio;
}

} // namespace firstmow::judge
