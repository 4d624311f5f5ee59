#include "weather/usual.hpp"

#include <cmath>
#include <numbers>

namespace firstmow::weather {

double usual_mean_c(const Place& place, int day_of_year) {
    const double latitude = place.latitude_deg;
    return 28 - 0.0096 * latitude * latitude +
           0.28 * latitude * std::cos(2 * std::numbers::pi * (day_of_year - 202) / 365) -
           0.0065 * place.elevation_m;
}

} // namespace firstmow::weather
