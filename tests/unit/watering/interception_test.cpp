#include "watering/interception.hpp"

#include "base/random.hpp"
#include "trial_garden.hpp"
#include "watering/zone_model.hpp"

#include <algorithm>
#include <cmath>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;

namespace {

constexpr double kStep = 300;

HourDemand dry_hour(double et_mm_per_h) {
    HourDemand hour;
    hour.start = trial::local(0, 12);
    hour.et_short_mm_per_h = et_mm_per_h;
    hour.air_temp_c = 25;
    hour.vapour_kpa = 1.5;
    hour.wind_2m_m_s = 2;
    return hour;
}

SurfaceCover strawed() {
    SurfaceCover cover;
    cover.mulch = turf::Cover::straw;
    return cover;
}

SurfaceCover lawn() {
    SurfaceCover cover;
    cover.canopy_fraction = 1;
    cover.root_depth_mm = 150;
    return cover;
}

} // namespace

TEST_CASE("interception: every drop is accounted for, whatever falls, lies and grows") {
    Random random(7);
    for (const turf::Cover mulch : {turf::Cover::none, turf::Cover::straw, turf::Cover::blanket}) {
        const soil::Column column = soil::make_column(soil::TextureClass::loam, 6, 5);
        soil::ColumnState water = soil::uniform_state(column, -100);
        Held held;
        double worst = 0;
        for (int i = 0; i < 2000; ++i) {
            SurfaceCover cover;
            cover.mulch = mulch;
            // Now and then the canopy loses leaves, straw is overgrown or laid bare again.
            cover.canopy_fraction = std::floor(random.uniform() * 5) / 4;
            cover.root_depth_mm = 60;
            const HourDemand hour = dry_hour(random.uniform() - 0.3);
            const double supply = random.uniform() < 0.2 ? 40 * random.uniform() : 0;
            const double before = soil::storage_mm(column, water) + held.sum_mm();
            const BedFlows f = step_bed(column, water, held, hour, cover, supply, 25, kStep);
            const double after = soil::storage_mm(column, water) + held.sum_mm();
            const double net = f.all.supply_mm + f.all.dew_mm - f.all.evaporation_mm -
                               f.all.transpiration_mm - f.all.runoff_mm - f.all.drainage_mm;
            worst = std::max(worst, std::abs(after - before - net));
            CHECK(f.all.supply_mm == doctest::Approx(supply * kStep / 3600));
            CHECK(held.leaves_mm >= 0);
            CHECK(held.straw_mm >= 0);
            CHECK(held.leaves_mm <= most_held(cover).leaves_mm + 1e-12);
            CHECK(held.straw_mm <= most_held(cover).straw_mm + 1e-12);
            // No more leaves than a surface wet all over would lose.
            CHECK(f.all.evaporation_mm + f.all.transpiration_mm <=
                  1.15 * std::max(hour.et_short_mm_per_h, 0.0) * kStep / 3600 + 1e-9);
        }
        CHECK(worst < 1e-9);
    }
}

TEST_CASE("interception: straw keeps the first half millimetre of a shower, bare soil nothing") {
    const HourDemand night = dry_hour(0);
    for (const auto& [cover, keeps] : {std::pair{SurfaceCover{}, 0.0}, {strawed(), 0.5}}) {
        Held held;
        double reached = 0;
        for (int i = 0; i < 24; ++i)
            reached +=
                intercept(night, cover, held, 2, 15, kStep).forcing.supply_mm_per_h * kStep / 3600;
        CHECK(reached == doctest::Approx(4 - keeps));
        CHECK(held.straw_mm == doctest::Approx(keeps));
    }
    // A light sprinkling is shared: straw gets the part that falls on it.
    Held held;
    const Below below = intercept(night, strawed(), held, 1.2, 15, kStep);
    CHECK(held.straw_mm == doctest::Approx(0.6 * 0.1));
    CHECK(below.forcing.supply_mm_per_h == doctest::Approx(0.4 * 1.2));
}

TEST_CASE("interception: held water goes first and spares plants and soil") {
    const HourDemand noon = dry_hour(0.6);
    SUBCASE("leaves") {
        Held held{0.36, 0};
        const Below wet = intercept(noon, lawn(), held, 0, 25, kStep);
        const Below dry = [&] {
            Held none;
            return intercept(noon, lawn(), none, 0, 25, kStep);
        }();
        CHECK(dry.forcing.transpiration_demand_mm_per_h == doctest::Approx(0.9 * 0.6));
        CHECK(wet.evaporated_mm > 0.9 * 1.15 * 0.6 * kStep / 3600);
        CHECK(wet.forcing.transpiration_demand_mm_per_h == 0);
    }
    SUBCASE("straw") {
        Held held{0, 0.5};
        const Below wet = intercept(noon, strawed(), held, 0, 25, kStep);
        Held none;
        const Below dry = intercept(noon, strawed(), none, 0, 25, kStep);
        CHECK(wet.forcing.evaporation_demand_mm_per_h < dry.forcing.evaporation_demand_mm_per_h);
        const double all =
            wet.forcing.evaporation_demand_mm_per_h + wet.evaporated_mm * 3600 / kStep;
        CHECK(all == doctest::Approx(1.15 * 0.6));
    }
}

TEST_CASE("interception: how fast leaves dry does not hang on the length of the step") {
    // Deardorff's 2/3 power: full leaves are dry after 3 capacities over the potential rate.
    const HourDemand noon = dry_hour(0.6);
    const double dry_after_s = 3 * 0.36 / (1.15 * 0.6) * 3600;
    for (const double step : {60.0, 300.0, 900.0}) {
        Held held{0.36, 0};
        double at = 0;
        while (held.leaves_mm > 0 && at < 20000) {
            intercept(noon, lawn(), held, 0, 25, step);
            at += step;
        }
        CHECK(at >= dry_after_s - 1);
        CHECK(at < dry_after_s + step + 1);
    }
}

TEST_CASE("interception: dew wets the leaves of a lawn by night and the morning dries them") {
    garden::Zone grown = trial::grown_zone("g");
    const ZoneSpec spec = zone_spec(grown);
    ZoneState state = initial_state(grown, spec, 15, trial::local(0, 0));
    trial::Air air{17, 6, 13.5, 1};
    const auto hours = trial::demands(trial::clear_hours(trial::local(0, 0), 48, air));
    bool at_dawn = false;
    bool at_noon = true;
    for (const HourDemand& hour : hours) {
        for (Seconds at = kGrid; at <= Seconds{3600}; at += kGrid) {
            const ZoneStep step = advance(spec, state, hour, 0, kGrid, hour.start + at);
            if (hour.start == trial::local(1, 5)) at_dawn = step.leaves_wet;
            if (hour.start == trial::local(1, 12)) at_noon = step.leaves_wet;
        }
    }
    CHECK(at_dawn);
    CHECK_FALSE(at_noon);
    CHECK_FALSE(leaves_wet(SurfaceCover{}, Held{}));
}
