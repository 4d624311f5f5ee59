// The yardstick for planners: the search with foresight against all schedules there are, its lower
// bound, and what both lean on.
#include "compare/foresight.hpp"
#include "compare/invented_days.hpp"

#include <algorithm>
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::compare;

namespace {

// A hot morning from sunrise on, the bed dry; the tap may run in four half hours of it.
BedDays morning() {
    BedDays days;
    const auto all = forcing(kWeathers[0], {"", 12, 0, 0}, 1);
    for (std::size_t i = 6 * 12; i < 13 * 12; ++i) {
        soil::SurfaceForcing f = all[i];
        f.supply_mm_per_h = 0;
        days.steps.push_back(f);
        const std::size_t half_hour = (i - 6 * 12) / 6;
        days.counts.push_back(half_hour >= 2);
        days.open.push_back(half_hour == 0 || half_hour == 3 || half_hour == 6 || half_hour == 9);
    }
    return days;
}

JudgedBed loam() {
    JudgedBed bed;
    bed.soil = soil::TextureClass::loam;
    return bed;
}

// The same morning with a surface of each schedule's own, sown yesterday.
BedDays morning_of_its_own(double start_kpa) {
    BedDays days = morning();
    garden::Zone zone;
    zone.soil = soil::TextureClass::loam;
    zone.precipitation_rate_mm_per_h = 12;
    zone.distribution_uniformity = 0.65;
    zone.soil_below_kpa = start_kpa;
    zone.establishment.seed_depth_mm = 10;
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 1.0}};
    const WallTime from{Seconds{1'756'702'800}}; // 2025-09-01 05:00 UTC
    ZoneWeather own{watering::zone_spec(zone), {}, from, {}};
    own.start = watering::initial_state(zone, own.spec, 20, from - Seconds{86400});
    watering::HourDemand hour; // about noon of a clear day in late summer
    hour.et_short_mm_per_h = 0.6;
    hour.air_temp_c = 30;
    hour.vapour_kpa = 1.2;
    hour.vapour_deficit_kpa = 3;
    hour.wind_2m_m_s = 2;
    hour.solar_w_m2 = 750;
    hour.net_radiation_w_m2 = 520;
    hour.daylight = true;
    for (std::size_t i = 0; i < days.steps.size(); ++i) {
        hour.start = from + Seconds{3600} * static_cast<int>(i / 12);
        own.hours.push_back(hour);
    }
    days.own = std::move(own);
    return days;
}

double cost_of(const Outcome& outcome, const SearchOptions& options) {
    return outcome.water_mm + options.price_mm_per_dry_h * outcome.dry_h;
}

// Every choice of a run length, or none, in each of the four.
double least_cost_of_all(const BedDays& days, const SearchOptions& options) {
    double least = 1e300;
    const auto choices = options.minutes.size() + 1;
    for (std::size_t code = 0; code < choices * choices * choices * choices; ++code) {
        Sprinkling sprinkling(days.steps.size(), 0);
        std::size_t rest = code;
        for (const std::size_t slot : {0u, 3u, 6u, 9u}) {
            const std::size_t choice = rest % choices;
            rest /= choices;
            for (std::size_t i = 0; choice > 0 && i < 6; ++i)
                sprinkling[slot * 6 + i] = std::clamp(
                    options.minutes[choice - 1] / 5.0 - static_cast<double>(i), 0.0, 1.0);
        }
        least = std::min(least,
                         cost_of(judge_schedule(loam(), days, sprinkling, quick_grid()), options));
    }
    return least;
}

} // namespace

TEST_CASE("foresight finds the best of all schedules where all can be tried") {
    const BedDays days = morning();
    SearchOptions options;
    options.minutes = {5, 20};
    const double least = least_cost_of_all(days, options);
    const Foresight found = foresee(loam(), days, options);
    CHECK(found.water_mm > 0);
    CHECK(found.cost_mm == doctest::Approx(least).epsilon(0.01));
    // What it says of its schedule is what judging it says.
    const Outcome judged = judge_schedule(loam(), days, found.sprinkling, quick_grid());
    CHECK(judged.water_mm == doctest::Approx(found.water_mm));
    CHECK(judged.dry_h == doctest::Approx(found.dry_h));
    // And the bound lies below, not far.
    options.bound = true;
    options.width = 300;
    options.cell_10_mm = 0.01;
    options.cell_40_mm = 0.05;
    const Foresight bound = foresee(loam(), days, options);
    CHECK(bound.cost_mm <= least + 1e-9);
    CHECK(bound.cost_mm >= 0.8 * least);
}

TEST_CASE("each schedule's surface is its own: warm where it was spared water") {
    const BedDays days = morning_of_its_own(-200);
    BedSurface wet(days), dry(days);
    double wet_c = 0, dry_c = 0;
    for (std::size_t i = 0; i < days.steps.size(); ++i) {
        wet_c = wet.next(i, i < 6 ? 1 : 0).surface_temp_c;
        dry_c = dry.next(i, 0).surface_temp_c;
    }
    CHECK(dry_c > wet_c + 1);
    // The search follows it: what it says of its schedule is what judging it says.
    const Foresight found = foresee(loam(), days, {});
    CHECK(found.water_mm > 0);
    const Outcome judged = judge_schedule(loam(), days, found.sprinkling, quick_grid());
    CHECK(judged.water_mm == doctest::Approx(found.water_mm));
    CHECK(judged.dry_h == doctest::Approx(found.dry_h));
}

TEST_CASE("a wetter bed stays the wetter one") {
    const judge::SaxtonRawls medium = judge_soil(soil::TextureClass::loam);
    judge::Profile dry = judged_profile(medium, loam(), quick_grid());
    judge::Profile wet = dry;
    judge::Surface rain;
    rain.supply_mm_s = 12 / 3600.0;
    rain.temp_c = 15;
    wet.advance(rain, 600);
    wet.raise_to(dry);
    for (const soil::SurfaceForcing& f : forcing(kWeathers[5], kWaterings[1], 3)) {
        dry.advance(judged_surface(f, 0), kStep_s);
        wet.advance(judged_surface(f, 0), kStep_s);
        // But for where the time steps put a wetting front.
        for (std::size_t i = 0; i < dry.heads_mm().size(); ++i)
            REQUIRE(wet.theta(i) >= dry.theta(i) - 0.01);
    }
}

TEST_CASE("the fixed timer: the shortest length that keeps the bed damp") {
    BedDays days;
    for (soil::SurfaceForcing f : forcing(kWeathers[2], kWaterings[0], 3)) {
        f.supply_mm_per_h = 0;
        const std::size_t step = days.steps.size() % 288;
        days.steps.push_back(f);
        days.counts.push_back(days.steps.size() > 96 && step >= 72 && step < 228);
        days.open.push_back(true);
    }
    std::vector<std::size_t> starts;
    for (std::size_t day = 0; day < 3; ++day)
        for (const std::size_t step : {78u, 132u, 186u})
            starts.push_back(day * 288 + step);
    const FixedTimer timer = best_fixed_timer(loam(), days, starts, 0.01);
    const Outcome judged = judge_schedule(loam(), days, timer.sprinkling, quick_grid());
    CHECK(judged.dry_share() <= 0.01);
    CHECK(judged.starts == 9);
    CHECK(judged.water_mm == doctest::Approx(9 * timer.minutes / 5.0));
    // A minute less would not do.
    Sprinkling shorter(days.steps.size(), 0);
    for (const std::size_t start : starts)
        for (std::size_t i = 0; i < 12; ++i)
            shorter[start + i] =
                std::clamp((timer.minutes - 1) / 5.0 - static_cast<double>(i), 0.0, 1.0);
    CHECK(judge_schedule(loam(), days, shorter, quick_grid()).dry_share() > 0.01);
}
