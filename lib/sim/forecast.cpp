#include "sim/forecast.hpp"

#include "base/random.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::sim {

namespace {

using weather::Hour;
using weather::Origin;

// A new model run every six hours: forecasts in between share its errors.
constexpr std::int64_t kRunEveryH = 6;
constexpr double kWetHourMm = 0.1;

Random noise_of(std::uint64_t seed, std::int64_t run) {
    Random mix(seed * 0x9E3779B97F4A7C15U + static_cast<std::uint64_t>(run));
    return Random(mix.bits());
}

void mark(Hour& hour) {
    hour.temp_origin = hour.humidity_origin = hour.wind_origin = hour.solar_origin =
        hour.rain_origin = Origin::forecast;
    hour.soil_temp_c.reset();
}

void blur_air(std::vector<Hour>& hours, Random& random) {
    double temp = random.normal();
    double cloud = random.normal();
    double humidity = random.normal();
    double wind = random.normal();
    constexpr double kMemory = 0.9; // of an error from hour to hour
    const double fresh = std::sqrt(1 - kMemory * kMemory);
    for (std::size_t lead = 0; lead < hours.size(); ++lead) {
        Hour& hour = hours[lead];
        const auto h = static_cast<double>(lead);
        hour.air_temp_c += temp * std::min(0.8 + 0.02 * h, 1.8);
        hour.rel_humidity_pct =
            std::clamp(hour.rel_humidity_pct + humidity * std::min(4 + 0.1 * h, 9.0), 5.0, 100.0);
        hour.wind_2m_m_s *= std::exp(0.25 * wind);
        hour.solar_w_m2 *=
            std::clamp(std::exp(cloud * std::min(0.15 + 0.004 * h, 0.35)), 0.35, 1.25);
        temp = kMemory * temp + fresh * random.normal();
        cloud = kMemory * cloud + fresh * random.normal();
        humidity = kMemory * humidity + fresh * random.normal();
        wind = kMemory * wind + fresh * random.normal();
    }
}

// Lays a shower of the truth, or none, where the forecaster saw it.
void lay_shower(std::vector<Hour>& hours, std::span<const Hour> truth, std::size_t from,
                std::size_t to, Random& random) {
    const auto lead = static_cast<double>(from);
    const bool seen = random.uniform() < 0.9 - 0.004 * lead;
    const auto shift = static_cast<std::int64_t>(std::lround(random.normal() * (0.5 + lead / 20)));
    const double amount = std::exp(0.5 * random.normal());
    const double probability = random.uniform(0.55, 0.95);
    if (!seen) return;
    for (std::size_t i = from; i < to; ++i) {
        const std::int64_t at = static_cast<std::int64_t>(i) + shift;
        if (at < 0 || at >= static_cast<std::int64_t>(hours.size())) continue;
        Hour& hour = hours[static_cast<std::size_t>(at)];
        hour.rain_mm += truth[i].rain_mm * amount;
        hour.rain_probability = std::max(hour.rain_probability, probability);
    }
}

void blur_rain(std::vector<Hour>& hours, std::span<const Hour> truth, Random& random) {
    for (Hour& hour : hours) {
        hour.rain_mm = 0;
        hour.rain_probability = 0.05;
    }
    for (std::size_t i = 0; i < truth.size();) {
        std::size_t end = i;
        while (end < truth.size() && truth[end].rain_mm >= kWetHourMm)
            ++end;
        if (end > i) lay_shower(hours, truth, i, end, random);
        i = std::max(end, i + 1);
    }
    // Showers that never come.
    for (std::size_t i = 0; i + 3 < hours.size(); i += 6) {
        if (random.uniform() >= 0.05) continue;
        const double mm = random.uniform(0.5, 4);
        const double probability = random.uniform(0.2, 0.65);
        for (std::size_t k = i; k < i + 3; ++k) {
            hours[k].rain_mm += mm / 3;
            hours[k].rain_probability = std::max(hours[k].rain_probability, probability);
        }
    }
}

} // namespace

std::vector<Hour> forecast(std::span<const Hour> truth, std::size_t now, ForecastMode mode,
                           std::uint64_t seed) {
    if (mode == ForecastMode::none || now >= truth.size()) return {};
    const auto ahead =
        truth.subspan(now, std::min<std::size_t>(kForecastHours, truth.size() - now));
    std::vector<Hour> hours(ahead.begin(), ahead.end());
    for (Hour& hour : hours)
        mark(hour);
    if (mode == ForecastMode::perfect) return hours;

    const std::int64_t run = to_unix(ahead.front().start) / 3600 / kRunEveryH;
    Random random = noise_of(seed, run);
    // Errors belong to the run, so they are drawn from its first hour on.
    const auto since = static_cast<std::size_t>(to_unix(ahead.front().start) / 3600 % kRunEveryH);
    const std::size_t first = now >= since ? now - since : 0;
    const auto whole = truth.subspan(
        first, std::min<std::size_t>(kForecastHours + kRunEveryH, truth.size() - first));
    std::vector<Hour> blurred(whole.begin(), whole.end());
    for (Hour& hour : blurred)
        mark(hour);
    blur_air(blurred, random);
    blur_rain(blurred, whole, random);
    blurred.erase(blurred.begin(), blurred.begin() + static_cast<std::ptrdiff_t>(now - first));
    if (blurred.size() > kForecastHours) blurred.resize(kForecastHours);
    return blurred;
}

} // namespace firstmow::sim
