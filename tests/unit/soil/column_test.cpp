#include "base/random.hpp"
#include "soil/column.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

using namespace firstmow;
using namespace firstmow::soil;

namespace {

TextureClass texture_of(int i) {
    return static_cast<TextureClass>(i);
}

// A bare bed in sun from 06 to 19 h, 0.70 mm/h at noon.
SurfaceForcing summer_hour(double hour_of_day) {
    const double sun =
        hour_of_day > 6 && hour_of_day < 19 ? std::sin((hour_of_day - 6) / 13 * 3.14159265) : 0;
    SurfaceForcing f;
    f.evaporation_demand_mm_per_h = 0.02 + 0.68 * sun;
    f.surface_temp_c = 20 + 14 * sun;
    f.air_vapour_kpa = 1.6;
    return f;
}

struct DryingRun {
    double evaporation_mm = 0;
    std::array<double, 3> crossed_h{-1, -1, -1}; // -50, -100, -500 kPa
};

// 10 mm in the first hour, then 14 days of sun.
DryingRun dry_out(const Column& column, double dt_s) {
    ColumnState state = uniform_state(column, -200);
    DryingRun run;
    constexpr std::array<double, 3> kLevels{-50, -100, -500};
    for (double t = 0; t < 14 * 86400; t += dt_s) {
        SurfaceForcing f = summer_hour(std::fmod(t / 3600 + 6, 24));
        if (t < 3600) f.supply_mm_per_h = 10;
        run.evaporation_mm += step(column, state, f, dt_s).evaporation_mm;
        for (std::size_t i = 0; i < kLevels.size(); ++i)
            if (t > 3600 && run.crossed_h[i] < 0 && seed_zone_kpa(column, state) < kLevels[i])
                run.crossed_h[i] = t / 3600;
    }
    return run;
}

} // namespace

TEST_CASE("the grid has thin layers at the top and a boundary at every seed depth") {
    for (double depth = 1; depth <= 25; depth += 0.5) {
        CAPTURE(depth);
        const Layering grid = engine_layering(depth);
        const auto at = [&](int i) { return grid.bottom_mm[static_cast<std::size_t>(i)]; };
        REQUIRE(grid.seed_layers >= 1);
        CHECK(at(grid.seed_layers - 1) == doctest::Approx(depth));
        CHECK(at(grid.count - 1) == doctest::Approx(300));
        CHECK(at(0) <= 1.31);
        for (int i = 1; i < grid.count; ++i)
            CHECK(at(i) > at(i - 1));
    }
}

TEST_CASE("mass is conserved to 1e-9 mm in every one of thousands of random steps") {
    Random random(20260822);
    for (int texture = 0; texture < 12; ++texture) {
        CAPTURE(texture);
        const Column column =
            make_column(texture_of(texture), random.uniform(1, 25), random.uniform(0, 15));
        ColumnState state = uniform_state(column, -std::exp(random.uniform(0, 9)));
        double worst = 0;
        for (int i = 0; i < 2000; ++i) {
            SurfaceForcing f;
            if (random.uniform() < 0.2) f.supply_mm_per_h = random.uniform(0, 80);
            if (random.uniform() < 0.3) f.dew_mm_per_h = random.uniform(0, 0.05);
            if (random.uniform() < 0.7) f.evaporation_demand_mm_per_h = random.uniform(0, 1.2);
            if (random.uniform() < 0.4) {
                f.transpiration_demand_mm_per_h = random.uniform(0, 0.8);
                f.root_depth_mm = random.uniform(1, 300);
            }
            f.surface_temp_c = random.uniform(0, 55);
            f.air_vapour_kpa = random.uniform(0.3, 2.5);
            const double before = storage_mm(column, state);
            const Flows flows = step(column, state, f, random.uniform(1, 3600));
            const double change = flows.supply_mm + flows.dew_mm - flows.evaporation_mm -
                                  flows.transpiration_mm - flows.runoff_mm - flows.drainage_mm;
            worst = std::max(worst, std::abs(storage_mm(column, state) - before - change));
            CHECK(flows.evaporation_mm >= -1e-12);
            CHECK(flows.runoff_mm >= 0);
            CHECK(state.pond_mm >= -1e-9);
            for (int k = 0; k < column.layers.count; ++k) {
                const double theta = state.theta[static_cast<std::size_t>(k)];
                CHECK(theta >= column.soil[0]->driest() - 1e-9);
                CHECK(theta <= column.soil[0]->fullest() + 1e-9);
            }
        }
        CHECK(worst < 1e-9);
    }
}

TEST_CASE("the engine's grid and step agree with a grid four times finer and steps of 20 s") {
    // The grid's own error, not the physics': that is judged elsewhere. 20 minutes or 10 %;
    // 15 % for sand, which dries in a front as thin as a layer.
    for (const TextureClass texture :
         {TextureClass::sand, TextureClass::sandy_loam, TextureClass::loam, TextureClass::silt_loam,
          TextureClass::clay_loam, TextureClass::clay}) {
        CAPTURE(key(texture));
        Column column = make_column(texture, 6, 2);
        const DryingRun coarse = dry_out(column, 300);
        column = refined(column, 4);
        const DryingRun fine = dry_out(column, 20);
        const double allowed = texture == TextureClass::sand ? 0.15 : 0.10;
        CHECK(std::abs(coarse.evaporation_mm / fine.evaporation_mm - 1) < 0.05);
        for (std::size_t i = 0; i < 2; ++i)
            CHECK(std::abs(coarse.crossed_h[i] - fine.crossed_h[i]) <
                  std::max(20.0 / 60, allowed * fine.crossed_h[i]));
    }
}

TEST_CASE("a wet bed loses the demand, then less and less, about with the square root of time") {
    const Column column = make_column(TextureClass::loam, 6, 0);
    ColumnState state = uniform_state(column, -33);
    SurfaceForcing f;
    f.evaporation_demand_mm_per_h = 0.5;
    f.surface_temp_c = 30;
    f.air_vapour_kpa = 1.5;
    CHECK(step(column, state, f, 300).evaporation_mm == doctest::Approx(0.5 / 12).epsilon(1e-6));
    // Gardner 1959: the soil-limited stage loses in proportion to the square root of time. From day
    // 1 to day 4 the loss should double; gravity and the 300 mm bottom leave some room.
    double sum = 0;
    double day_1 = 0;
    double day_4 = 0;
    for (int i = 0; i < 4 * 288; ++i) {
        sum += step(column, state, f, 300).evaporation_mm;
        if (i == 287) day_1 = sum;
        day_4 = sum;
    }
    CHECK(day_4 / day_1 > 1.5);
    CHECK(day_4 / day_1 < 2.2);
}

TEST_CASE("vapour through the crust keeps a seed zone drying that liquid alone would leave damp") {
    const Column column = make_column(TextureClass::loam, 6, 0);
    double dried_to[2] = {0, 0};
    for (int humid = 0; humid < 2; ++humid) {
        ColumnState state = uniform_state(column, -50);
        SurfaceForcing f = summer_hour(12);
        // Air as damp as the pores takes no vapour; the crust then shuts the bed.
        f.air_vapour_kpa = humid == 1 ? 5.3 : 1.5;
        for (int i = 0; i < 288; ++i)
            step(column, state, f, 300);
        dried_to[humid] = seed_zone_kpa(column, state);
    }
    CHECK(dried_to[0] < dried_to[1]);
}

TEST_CASE("a soil takes water no faster than it can; the rest stands and then runs off") {
    const Column column = make_column(TextureClass::clay, 6, 6);
    ColumnState state = uniform_state(column, -5);
    SurfaceForcing f;
    f.supply_mm_per_h = 40;
    Flows sum;
    for (int i = 0; i < 12; ++i)
        sum += step(column, state, f, 300);
    CHECK(sum.supply_mm == doctest::Approx(40));
    CHECK(sum.runoff_mm > 10);
    CHECK(state.pond_mm == doctest::Approx(column.pond_capacity_mm));
    // The puddle goes down when the rain stops.
    f.supply_mm_per_h = 0;
    for (int i = 0; i < 24; ++i)
        step(column, state, f, 300);
    CHECK(state.pond_mm < column.pond_capacity_mm);

    const Column sand = make_column(TextureClass::sand, 6, 6);
    ColumnState dry = uniform_state(sand, -50);
    f.supply_mm_per_h = 40;
    Flows taken;
    for (int i = 0; i < 12; ++i)
        taken += step(sand, dry, f, 300);
    CHECK(taken.runoff_mm == doctest::Approx(0));
}

TEST_CASE("a wetter soil below keeps the seed zone damp for longer") {
    const Column column = make_column(TextureClass::loam, 6, 2);
    std::vector<double> hours;
    for (const double below : {-500.0, -100.0, -10.0}) {
        ColumnState state = uniform_state(column, below);
        double t = 0;
        SurfaceForcing f = summer_hour(12);
        f.supply_mm_per_h = 10;
        step(column, state, f, 1800);
        f.supply_mm_per_h = 0;
        while (seed_zone_kpa(column, state) > -100 && t < 90 * 3600) {
            step(column, state, f, 300);
            t += 300;
        }
        hours.push_back(t / 3600);
    }
    CHECK(hours[0] < hours[1]);
    CHECK(hours[1] < hours[2]);
}

TEST_CASE("roots drink where they reach and stop at the wilting point") {
    const Column column = make_column(TextureClass::loam, 6, 2);
    ColumnState rooted = uniform_state(column, -33);
    ColumnState bare = rooted;
    SurfaceForcing f;
    SurfaceForcing drinking;
    drinking.transpiration_demand_mm_per_h = 0.5;
    drinking.root_depth_mm = 50;
    double sum = 0;
    for (int i = 0; i < 288 * 3; ++i) {
        sum += step(column, rooted, drinking, 300).transpiration_mm;
        step(column, bare, f, 300);
    }
    CHECK(sum > 3);
    CHECK(sum < 0.5 * 72);
    CHECK(mean_kpa(column, rooted, 50) > -1600);
    CHECK(mean_kpa(column, rooted, 50) < -500);
    // Far below the roots water only rises as the soil lets it.
    const auto last = static_cast<std::size_t>(column.layers.count - 1);
    const Hydraulics& soil = column.soil[0]->hydraulics();
    CHECK(rooted.theta[last] < bare.theta[last]);
    CHECK(soil.potential_kpa(rooted.theta[last]) > -150);
}
