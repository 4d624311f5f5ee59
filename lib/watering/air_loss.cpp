#include "watering/air_loss.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::watering {

namespace {

constexpr double kMostDeficitKpa = 6;
constexpr double kMostWindMPerS = 7;

} // namespace

double air_loss(const Nozzle& nozzle, double wind_2m_m_s, double vapour_deficit_kpa) {
    const double deficit = std::clamp(vapour_deficit_kpa, 0.0, kMostDeficitKpa);
    const double wind = std::clamp(wind_2m_m_s, 0.0, kMostWindMPerS);
    const double sum = 1.98 * std::pow(nozzle.diameter_mm, -0.72) + 0.22 * std::pow(deficit, 0.63) +
                       3.6e-4 * std::pow(nozzle.pressure_kpa, 1.16) + 0.14 * std::pow(wind, 0.7);
    return std::min(std::pow(sum, 4.2) / 100.0, kMostAirLoss);
}

} // namespace firstmow::watering
