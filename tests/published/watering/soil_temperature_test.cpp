// The warmth of a seedbed against published figures of how it swings.
#include "watering/zone_model.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;

namespace {

constexpr weather::Place kPlace{41, -90, 210};
// Midnight of the place's sun, mid July.
constexpr WallTime kStart{
    std::chrono::sys_days{std::chrono::year{2026} / 7 / 10}.time_since_epoch() +
    std::chrono::hours{6}};

weather::Hour clear_hour(int h) {
    weather::Hour hour;
    hour.start = kStart + Seconds{3600 * h};
    hour.air_temp_c = 24 + 7 * std::cos(2 * std::numbers::pi * (h % 24 - 15) / 24);
    hour.rel_humidity_pct = 100 * 1.3 / weather::saturation_vapour_kpa(hour.air_temp_c);
    hour.wind_2m_m_s = 2;
    hour.solar_w_m2 =
        0.75 * weather::hour_sun(kPlace, hour.start, 0.0820).extraterrestrial_mj / 0.0036;
    return hour;
}

// The last of eight clear days.
struct Swing {
    double low_c = 99;
    double high_c = -99;
    double warmest_at_h = 0;
    double range_c() const { return high_c - low_c; }
    double mean_c() const { return (high_c + low_c) / 2; }
};
struct Bed {
    Swing seed, at_50_mm, at_120_mm;
};

// The boundary nearest to `depth_mm`, between the two layers that meet there.
double temp_at(const soil::Column& column, const soil::HeatState& heat, double depth_mm) {
    double before = column.layers.thickness_mm[0] / 2;
    for (std::size_t i = 1;; ++i) {
        const double middle = column.layers.bottom_mm[i] - column.layers.thickness_mm[i] / 2;
        if (middle >= depth_mm) {
            const double part = (depth_mm - before) / (middle - before);
            return heat.layer_c[i - 1] + part * (heat.layer_c[i] - heat.layer_c[i - 1]);
        }
        before = middle;
    }
}

void see(Swing& swing, double temp_c, double at_h) {
    swing.low_c = std::min(swing.low_c, temp_c);
    if (temp_c > swing.high_c) swing.warmest_at_h = at_h;
    swing.high_c = std::max(swing.high_c, temp_c);
}

enum class Water { kept_wet, left_dry };

Bed a_week(turf::Cover cover, Water water, std::optional<double> sun_h = std::nullopt) {
    garden::Zone zone;
    zone.soil = soil::TextureClass::loam;
    zone.soil_below_kpa = water == Water::kept_wet ? -20 : -1200;
    zone.precipitation_rate_mm_per_h = 12;
    zone.direct_sun_h = sun_h;
    zone.establishment.method = turf::Method::seed;
    zone.establishment.mix = {{turf::Species::tall_fescue, 1}};
    zone.establishment.cover = cover;
    const ZoneSpec spec = zone_spec(zone);
    ZoneState state = initial_state(zone, spec, 24, kStart + Seconds{86400 * 400});
    weather::CloudMemory clouds;
    Bed bed;
    for (int h = 0; h < 8 * 24; ++h) {
        const HourDemand hour = hour_demand(kPlace, clear_hour(h), clouds);
        for (Seconds at = kGrid; at <= Seconds{3600}; at += kGrid) {
            const bool on = water == Water::kept_wet && h % 3 == 0 && at == kGrid;
            advance(spec, state, hour, on ? 20 : 0, kGrid, hour.start + at);
            if (h < 7 * 24) continue;
            const double at_h = h % 24 + static_cast<double>(at.count()) / 3600;
            see(bed.seed, soil::seed_temp_c(spec.column, state.heat), at_h);
            see(bed.at_50_mm, temp_at(spec.column, state.heat, 50), at_h);
            see(bed.at_120_mm, temp_at(spec.column, state.heat, 120), at_h);
        }
    }
    return bed;
}

} // namespace

TEST_CASE("soil temperature: the daily wave sinks in as the soil physics books have it") {
    // Hillel 1998, Environmental Soil Physics, ch. 12: damping depth of the day 0.08 m in dry,
    // 0.10 to 0.15 m in moist mineral soil; the warmest hour comes later by z / d of 3.8 h.
    const double step_mm = 120 - 6;
    for (const auto& [water, least_m, most_m] :
         {std::tuple{Water::kept_wet, 0.095, 0.15}, std::tuple{Water::left_dry, 0.06, 0.11}}) {
        const Bed bed = a_week(turf::Cover::none, water);
        const double damping_m =
            step_mm / 1000 / std::log(bed.seed.range_c() / bed.at_120_mm.range_c());
        CHECK(damping_m > least_m);
        CHECK(damping_m < most_m);
        const double later_h = bed.at_120_mm.warmest_at_h - bed.seed.warmest_at_h;
        CHECK(later_h == doctest::Approx(step_mm / 1000 / damping_m * 24 / (2 * std::numbers::pi))
                             .epsilon(0.35));
    }
}

TEST_CASE("soil temperature: bare soil in July swings as bare soil is seen to, wet less than dry") {
    // Parton and Logan 1981 (Agric. Meteorol. 23:205): the bare surface is warmest about two hours
    // past noon. Extension services see 50 deg C on dry seedbeds at an air of 31 (from memory).
    const Bed wet = a_week(turf::Cover::none, Water::kept_wet);
    const Bed dry = a_week(turf::Cover::none, Water::left_dry);
    CHECK(wet.seed.warmest_at_h > 12.5);
    CHECK(wet.seed.warmest_at_h < 15.5);
    CHECK(dry.seed.high_c > 40);
    CHECK(dry.seed.high_c < 60);
    CHECK(wet.seed.range_c() < 0.8 * dry.seed.range_c());
    CHECK(wet.seed.mean_c() < dry.seed.mean_c() - 2);
}

TEST_CASE("soil temperature: straw halves a good part of the swing, shade as well") {
    // Measured under straw: 11.5 deg C of daily range at 50 mm where bare soil had 17.5.
    const Bed bare = a_week(turf::Cover::none, Water::left_dry);
    const Bed straw = a_week(turf::Cover::straw, Water::left_dry);
    const Bed blanket = a_week(turf::Cover::blanket, Water::left_dry);
    CHECK(bare.at_50_mm.range_c() > 13);
    CHECK(bare.at_50_mm.range_c() < 24);
    CHECK(straw.at_50_mm.range_c() / bare.at_50_mm.range_c() ==
          doctest::Approx(11.5 / 17.5).epsilon(0.12));
    CHECK(blanket.at_50_mm.range_c() < straw.at_50_mm.range_c());
    // Nights under it are milder, days cooler.
    CHECK(straw.seed.low_c > bare.seed.low_c);
    CHECK(straw.seed.high_c < bare.seed.high_c - 3);

    const Bed part = a_week(turf::Cover::none, Water::left_dry, 4.5);
    const Bed shade = a_week(turf::Cover::none, Water::left_dry, 0.0);
    CHECK(part.seed.high_c <= bare.seed.high_c);
    CHECK(shade.seed.high_c < bare.seed.high_c - 8);
    CHECK(shade.seed.range_c() < 0.6 * bare.seed.range_c());
}
