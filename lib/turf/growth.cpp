#include "turf/growth.hpp"

#include <algorithm>
#include <array>

namespace firstmow::turf {

namespace {

// Rises from nothing at `base` to 1 at `best_from`, 1 up to `best_to`, nothing again at `stop`.
double trapezium(double value, double base, double best_from, double best_to, double stop) {
    const double rise = (value - base) / (best_from - base);
    const double fall = (stop - value) / (stop - best_to);
    return std::clamp(std::min(rise, fall), 0.0, 1.0);
}

} // namespace

double growth_cd_per_day(bool warm_season, double soil_temp_c) {
    if (warm_season) return (33 - 12.5) * trapezium(soil_temp_c, 12.5, 33, 33, 43);
    return (22 - 5) * trapezium(soil_temp_c, 5, 22, 24, 32.2);
}

double good_day_cd(bool warm_season) {
    return warm_season ? 27 - 12.5 : 20 - 5;
}

double root_rate(const SpeciesTraits& traits, double soil_temp_c) {
    if (traits.warm_season) return trapezium(soil_temp_c, traits.base_temp_c, 27, 34, 43);
    // 77 F stops the roots of standing turf, but seed sown in a warm August does root: a quarter
    // of the rate is left to it until shoots stop too. The quarter is an engineering default.
    const double cool = trapezium(soil_temp_c, traits.base_temp_c, 18.3, 20, 25);
    const double warm = 0.25 * trapezium(soil_temp_c, traits.base_temp_c, 18.3, 30, 32.2);
    return std::max(cool, warm);
}

double light_share(double standing_cover) {
    return 1 - 1.2 * std::max(standing_cover - kStandingTurfCover, 0.0);
}

double canopy_fraction(const SpeciesTraits& traits, double good_days) {
    struct Point {
        double days;
        double fraction;
    };
    constexpr std::array<Point, 5> kCourse{{{0, 0}, {14, 0.3}, {28, 0.6}, {52, 0.9}, {80, 1}}};
    const double days = good_days / traits.canopy_slowness;
    for (std::size_t i = 1; i < kCourse.size(); ++i) {
        const Point& left = kCourse[i - 1];
        const Point& right = kCourse[i];
        if (days < right.days)
            return left.fraction +
                   (right.fraction - left.fraction) * (days - left.days) / (right.days - left.days);
    }
    return 1;
}

} // namespace firstmow::turf
