// The temperature at the seed, where a source of weather tells that of the ground.
#include "trial_garden.hpp"
#include "watering/zone_model.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;

namespace {

constexpr int kDays = 12;

struct Told {
    std::vector<double> seed_c;  // hourly
    std::vector<double> depth_c; // where the source measures, put right
    ZoneState end;
};

// A damp bed under clear days; `said` is what the source says in hour h, given the bed's own
// temperature at its depth.
Told days(const std::function<std::optional<double>(int h, double own_c)>& said) {
    garden::Zone zone = trial::seed_zone("z");
    zone.soil_below_kpa = -20;
    const ZoneSpec spec = zone_spec(zone);
    Told told{{}, {}, initial_state(zone, spec, 22, trial::local(0, 0))};
    int h = 0;
    for (HourDemand hour : trial::demands(trial::clear_hours(trial::local(0, 0), kDays * 24))) {
        hour.soil_temp_c = said(h++, soil::temp_at_c(spec.column, told.end.heat, kSourceDepth_mm));
        for (Seconds at = kGrid; at <= Seconds{3600}; at += kGrid)
            advance(spec, told.end, hour, 0.1, kGrid, hour.start + at);
        told.seed_c.push_back(seed_temp_c(spec, told.end));
        told.depth_c.push_back(soil::temp_at_c(spec.column, told.end.heat, kSourceDepth_mm) +
                               told.end.warmer_c);
    }
    return told;
}

double mean_of_last_day(const Told& told) {
    double sum = 0;
    for (std::size_t i = told.seed_c.size() - 24; i < told.seed_c.size(); ++i)
        sum += told.seed_c[i] / 24;
    return sum;
}

const Told& unaided() {
    static const Told kTold = days([](int, double) { return std::nullopt; });
    return kTold;
}

} // namespace

TEST_CASE("a source's soil temperature moves the mean of the days, not their swing") {
    const Told cooler = days([](int, double own_c) { return own_c - 3; });
    CHECK(mean_of_last_day(cooler) - mean_of_last_day(unaided()) ==
          doctest::Approx(-3).epsilon(0.01));
    const auto swing = [](const Told& told) {
        const auto [low, high] = std::minmax_element(told.seed_c.end() - 24, told.seed_c.end());
        return *high - *low;
    };
    CHECK(swing(cooler) == doctest::Approx(swing(unaided())).epsilon(0.02));
    // After a day most of the way is gone, and no leap is seen on it.
    double leap = 0;
    for (std::size_t i = 0; i < 24; ++i)
        leap = std::max(leap, std::abs(cooler.seed_c[i] - unaided().seed_c[i] -
                                       (i ? cooler.seed_c[i - 1] - unaided().seed_c[i - 1] : 0)));
    CHECK(leap < 0.2);
    CHECK(cooler.seed_c[23] - unaided().seed_c[23] ==
          doctest::Approx(-3 * (1 - std::exp(-1))).epsilon(0.05));

    // A source that knows only the mean of the day is as good: the swing is the zone's own.
    const Told flat = days([](int, double) { return 23.0; });
    double mean_c = 0;
    for (std::size_t i = flat.depth_c.size() - 24; i < flat.depth_c.size(); ++i)
        mean_c += flat.depth_c[i] / 24;
    CHECK(std::abs(mean_c - 23.0) < 0.5); // the ground below still warms, and a mean lags
    CHECK(swing(flat) > 0.8 * swing(unaided()));
}

TEST_CASE("a wild source is believed within bounds, a silent one is forgotten") {
    const Told wild = days([](int, double) { return 60.0; });
    CHECK(wild.end.warmer_c <= kMostWarmer_c);
    CHECK(wild.end.warmer_c > 0.99 * kMostWarmer_c);
    const Told silent =
        days([](int h, double own_c) { return h < 48 ? std::optional(own_c + 4) : std::nullopt; });
    // Ten days on, e^(-10/3) of it is left.
    CHECK(silent.end.warmer_c ==
          doctest::Approx(4 * (1 - std::exp(-2)) * std::exp(-10.0 / 3)).epsilon(0.02));
}
