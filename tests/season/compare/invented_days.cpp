#include "compare/invented_days.hpp"

#include "compare/beds.hpp"

#include <cmath>
#include <numbers>

namespace firstmow::compare {
namespace {

// Rate over [hour, hour + length) of an amount that begins at `start`, mm/h.
double run(double hour, double start, double amount_mm, double rate_mm_per_h) {
    return hour >= start && hour < start + amount_mm / rate_mm_per_h ? rate_mm_per_h : 0;
}

// 0 by night, a sine's power by day (05:30 to 19:30), mean over the day 1/24.
double sun(double hour) {
    const double x = (hour - 5.5) / 14;
    if (x <= 0 || x >= 1) return 0;
    // The mean of sin^1.5 over its arch is 0.5564.
    return std::pow(std::sin(std::numbers::pi * x), 1.5) / (14 * 0.5564);
}

} // namespace

double sprinkling_mm_per_h(const Watering& watering, int day, double hour) {
    if (day == 0) return run(hour, 6, watering.first_morning_mm, watering.rate_mm_per_h);
    if (watering.run_mm <= 0) return 0;
    double rate = 0;
    for (const double start : {7.0, 11.0, 15.0})
        rate += run(hour, start, watering.run_mm, watering.rate_mm_per_h);
    return rate;
}

std::vector<soil::SurfaceForcing> forcing(const Weather& weather, const Watering& watering,
                                          int days) {
    std::vector<soil::SurfaceForcing> steps;
    for (int day = 0; day < days; ++day)
        for (int i = 0; i < 288; ++i) {
            const double hour = (i + 0.5) * kStep_s / 3600;
            soil::SurfaceForcing f;
            f.supply_mm_per_h = sprinkling_mm_per_h(watering, day, hour);
            if (day % 3 == 2) {
                f.supply_mm_per_h += run(hour, 3, weather.rain_mm / 3, 2);
                f.supply_mm_per_h += run(hour, 17, weather.rain_mm * 2 / 3, 8);
            }
            f.evaporation_demand_mm_per_h =
                weather.demand_mm_per_day * (0.95 * sun(hour) + 0.05 / 24);
            const double warmth = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (hour - 1.5) / 24);
            f.surface_temp_c =
                weather.coldest_c + (weather.warmest_c - weather.coldest_c) * std::pow(warmth, 1.5);
            f.air_vapour_kpa = weather.vapour_kpa;
            steps.push_back(f);
        }
    return steps;
}

} // namespace firstmow::compare
