// Several soils one over the other: what stays exact, what must come out, what is refused.
#include "base/random.hpp"
#include "soil/column.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace firstmow;
using namespace firstmow::soil;

namespace {

Ground dressed(TextureClass below, std::optional<Composition> with, double depth_mm) {
    return Ground{below, std::nullopt, Topdressing{depth_mm, with}};
}

double kpa_at(const Column& column, const ColumnState& state, int layer) {
    const auto k = static_cast<std::size_t>(layer);
    return column.soil[k]->hydraulics().potential_kpa(state.theta[k]);
}

// Steady rain on the surface until nothing changes any more.
ColumnState after_long_rain(const Column& column, double rate_mm_per_h) {
    ColumnState state = uniform_state(column, -20);
    SurfaceForcing rain;
    rain.supply_mm_per_h = rate_mm_per_h;
    Flows last;
    for (int hour = 0; hour < 24 * 60; ++hour)
        last = step(column, state, rain, 3600);
    CHECK(last.drainage_mm == doctest::Approx(rate_mm_per_h).epsilon(1e-3));
    return state;
}

// The suction profile of a steady flux, from the soil below (unit gradient) up through the one
// above: dh/dz = q/K(h) - 1 over the height, by the Runge-Kutta method in steps of 0.05 mm.
std::vector<double> steady_heads(const Hydraulics& above, const Hydraulics& below, double q,
                                 double thickness_mm) {
    double low = 0, high = below.saturation;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2;
        (below.conductivity_mm_per_h(middle) < q ? low : high) = middle;
    }
    double head = below.potential_kpa(low) * kMmHeadPerKpa;
    const auto slope = [&](double h) {
        return q / above.conductivity_mm_per_h(above.water_content(h / kMmHeadPerKpa)) - 1;
    };
    std::vector<double> heads{head};
    constexpr double kDz = 0.05;
    for (double z = 0; z < thickness_mm - 1e-9; z += kDz) {
        const double k1 = slope(head);
        const double k2 = slope(head + kDz / 2 * k1);
        const double k3 = slope(head + kDz / 2 * k2);
        const double k4 = slope(head + kDz * k3);
        head += kDz / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
        heads.push_back(head);
    }
    return heads;
}

} // namespace

TEST_CASE("ground: soils lie in their order, and the grid has a boundary where they meet") {
    Ground ground{TextureClass::clay_loam, Loosened{60, 0.9}, Topdressing{4, std::nullopt}};
    const std::vector<Stratum> all = strata(ground);
    REQUIRE(all.size() == 3);
    CHECK(all[0].soil == compost());
    CHECK(all[0].bottom_mm == 4);
    CHECK(all[1].soil.saturation > all[2].soil.saturation);
    CHECK(all[1].bottom_mm == 64);
    for (const double seed_depth : {1.0, 3.9, 6.0, 20.0}) {
        CAPTURE(seed_depth);
        const Column column = make_column(ground, seed_depth, 0);
        double top = 0;
        std::vector<double> meet;
        for (int i = 0; i < column.layers.count; ++i) {
            const auto k = static_cast<std::size_t>(i);
            CHECK(column.layers.thickness_mm[k] >= 0.3);
            CHECK(column.layers.bottom_mm[k] ==
                  doctest::Approx(top + column.layers.thickness_mm[k]));
            if (k > 0 && column.soil[k] != column.soil[k - 1]) meet.push_back(top);
            top = column.layers.bottom_mm[k];
        }
        CHECK(top == 300);
        REQUIRE(meet.size() == 2);
        CHECK(std::abs(meet[0] - 4) <= 0.3);
        CHECK(std::abs(meet[1] - 64) <= 0.3);
        CHECK(column.layers.bottom_mm[static_cast<std::size_t>(column.layers.seed_layers - 1)] ==
              seed_depth);
    }
}

TEST_CASE("ground: mass is conserved to 1e-9 mm across every contact") {
    Random random(7);
    for (int i = 0; i < 24; ++i) {
        CAPTURE(i);
        Ground ground{static_cast<TextureClass>(i % 12), std::nullopt, std::nullopt};
        if (i % 3 != 0) ground.loosened = Loosened{random.uniform(10, 200), 0.9};
        if (i % 2 != 0) {
            ground.topdressing = Topdressing{random.uniform(1, 40), std::nullopt};
            if (i % 4 != 1) ground.topdressing->soil = static_cast<TextureClass>((i * 5) % 12);
        }
        const Column column = make_column(ground, random.uniform(1, 25), 2);
        ColumnState state = uniform_state(column, -std::exp(random.uniform(0, 9)));
        double worst = 0;
        for (int j = 0; j < 500; ++j) {
            SurfaceForcing f;
            if (random.uniform() < 0.2) f.supply_mm_per_h = random.uniform(0, 80);
            if (random.uniform() < 0.7) f.evaporation_demand_mm_per_h = random.uniform(0, 1.2);
            if (random.uniform() < 0.4) {
                f.transpiration_demand_mm_per_h = random.uniform(0, 0.8);
                f.root_depth_mm = random.uniform(1, 300);
            }
            f.surface_temp_c = random.uniform(0, 55);
            const double before = storage_mm(column, state);
            const Flows flows = step(column, state, f, random.uniform(1, 3600));
            const double change = flows.supply_mm - flows.evaporation_mm - flows.transpiration_mm -
                                  flows.runoff_mm - flows.drainage_mm;
            worst = std::max(worst, std::abs(storage_mm(column, state) - before - change));
            for (int k = 0; k < column.layers.count; ++k) {
                const auto layer = static_cast<std::size_t>(k);
                CHECK(state.theta[layer] >= column.soil[layer]->driest() - 1e-9);
                CHECK(state.theta[layer] <= column.soil[layer]->fullest() + 1e-9);
            }
        }
        CHECK(worst < 1e-9);
    }
}

TEST_CASE("ground: a soil laid over itself is one soil") {
    // No class's composition, so that the two layers have tables of their own.
    const Composition soil(0.42, 0.19);
    const Column one = make_column(soil, 6, 0);
    const Column two = make_column(Ground{soil, std::nullopt, Topdressing{12, soil}}, 6, 0);
    REQUIRE(two.materials.size() == 2);
    REQUIRE(two.materials[0] != two.materials[1]);
    ColumnState a = uniform_state(one, -100);
    ColumnState b = uniform_state(two, -100);
    double most = 0;
    for (int i = 0; i < 288 * 6; ++i) {
        SurfaceForcing f;
        f.supply_mm_per_h = i % 288 < 6 ? 20 : 0;
        f.evaporation_demand_mm_per_h = i % 288 > 72 && i % 288 < 216 ? 0.5 : 0;
        f.surface_temp_c = 28;
        step(one, a, f, 300);
        step(two, b, f, 300);
        for (int k = 0; k < one.layers.count; ++k)
            most = std::max(most, std::abs(a.theta[static_cast<std::size_t>(k)] -
                                           b.theta[static_cast<std::size_t>(k)]));
    }
    CHECK(most < 0.004);
}

TEST_CASE("ground: steady rain through two soils has the profile of Darcy and Buckingham") {
    struct Pair {
        TextureClass above, below;
        double share; // of the saturated conductivity of the tighter soil
    };
    for (const Pair& pair : {Pair{TextureClass::sand, TextureClass::loam, 0.3},
                             Pair{TextureClass::loam, TextureClass::sand, 0.3},
                             Pair{TextureClass::clay_loam, TextureClass::sandy_loam, 0.2},
                             Pair{TextureClass::loamy_sand, TextureClass::clay, 0.5}}) {
        CAPTURE(key(pair.above));
        CAPTURE(key(pair.below));
        constexpr double kThickness = 70;
        Column column = make_column(dressed(pair.below, pair.above, kThickness), 6, 0);
        column = refined(column, 4);
        const Hydraulics& above = column.materials[0]->hydraulics();
        const Hydraulics& below = column.materials[1]->hydraulics();
        const double q = pair.share * std::min(above.saturated_mm_per_h, below.saturated_mm_per_h);
        const ColumnState state = after_long_rain(column, q);
        const std::vector<double> heads = steady_heads(above, below, q, kThickness);
        for (int i = 0; i < column.layers.count; ++i) {
            const auto k = static_cast<std::size_t>(i);
            const double middle = column.layers.bottom_mm[k] - column.layers.thickness_mm[k] / 2;
            CAPTURE(middle);
            const double height = std::max(kThickness - middle, 0.0);
            const double expected =
                heads[static_cast<std::size_t>(height / 0.05 + 0.5)] / kMmHeadPerKpa;
            CHECK(kpa_at(column, state, i) == doctest::Approx(expected).epsilon(0.02));
        }
    }
}

TEST_CASE("ground: the engine's grid with a topdressing agrees with one four times finer") {
    for (const bool of_compost : {true, false}) {
        CAPTURE(of_compost);
        Column column = make_column(
            dressed(TextureClass::loam,
                    of_compost ? std::nullopt : std::optional<Composition>(TextureClass::sand), 3),
            6, 0);
        double evaporation[2] = {0, 0};
        double crossed_h[2] = {0, 0};
        for (const int fine : {0, 1}) {
            if (fine == 1) column = refined(column, 3);
            ColumnState state = uniform_state(column, -200);
            const double dt = fine == 1 ? 20 : 300;
            for (double t = 0; t < 5 * 86400; t += dt) {
                SurfaceForcing f;
                const double hour = std::fmod(t / 3600, 24);
                f.supply_mm_per_h = t < 3600 ? 10 : 0;
                f.evaporation_demand_mm_per_h = hour > 6 && hour < 19 ? 0.5 : 0.02;
                f.surface_temp_c = hour > 6 && hour < 19 ? 32 : 20;
                f.air_vapour_kpa = 1.5;
                evaporation[fine] += step(column, state, f, dt).evaporation_mm;
                if (crossed_h[fine] == 0 && t > 3600 && seed_zone_kpa(column, state) < -100)
                    crossed_h[fine] = t / 3600;
            }
        }
        REQUIRE(crossed_h[1] > 0);
        CHECK(evaporation[0] == doctest::Approx(evaporation[1]).epsilon(0.05));
        CHECK(std::abs(crossed_h[0] - crossed_h[1]) < std::max(0.34, 0.1 * crossed_h[1]));
    }
}

TEST_CASE("ground: readings over several soils mean what they mean over one") {
    const Ground ground{TextureClass::clay_loam, Loosened{40, 0.92},
                        Topdressing{3, Composition(TextureClass::sand)}};
    const Column column = make_column(ground, 8, 0);
    for (const double kpa : {-8.0, -33.0, -100.0, -500.0, -1500.0, -9000.0}) {
        CAPTURE(kpa);
        // At rest every soil has the same potential, whatever each of them holds at it.
        const ColumnState state = uniform_state(column, kpa);
        CHECK(seed_zone_kpa(column, state) == doctest::Approx(kpa).epsilon(1e-3));
        CHECK(mean_kpa(column, state, 300) == doctest::Approx(kpa).epsilon(1e-3));
        CHECK(wetted_depth_mm(column, state, kpa * 1.01) == 300);
        CHECK(wetted_depth_mm(column, state, kpa * 0.99) == 0);
        CHECK(kpa_with_more(column, 8, kpa, 0) == doctest::Approx(kpa).epsilon(1e-3));
        if (kpa < -33) CHECK(kpa_with_more(column, 8, kpa, 0.01) > kpa);
    }
    CHECK(depletion_fraction(column, uniform_state(column, -33), 100) ==
          doctest::Approx(0).epsilon(1e-9));
    CHECK(depletion_fraction(column, uniform_state(column, -1500), 100) == doctest::Approx(1));
    const double half = depletion_fraction(column, uniform_state(column, -200), 100);
    CHECK(half > 0.3);
    CHECK(half < 0.8);
    // Water to a depth: whole at the foot, in proportion within a layer, the pond always.
    ColumnState flat = uniform_state(column, -200);
    flat.pond_mm = 1.5;
    CHECK(storage_mm(column, flat, 300) == doctest::Approx(storage_mm(column, flat)));
    CHECK(storage_mm(column, flat, 0) == 1.5);
    const double to_100 = storage_mm(column, flat, 100);
    CHECK(storage_mm(column, flat, 110) - to_100 ==
          doctest::Approx(to_100 - storage_mm(column, flat, 90)));
    // What lies over the depth is nobody's business there.
    CHECK(drained_below(column, uniform_state(column, -34), 150));
    ColumnState wet_on_top = uniform_state(column, -34);
    wet_on_top.theta[0] = column.soil[0]->hydraulics().saturation;
    CHECK(drained_below(column, wet_on_top, 150));
    CHECK_FALSE(drained_below(column, uniform_state(column, -30), 150));
    // Wet layers over dry ones leave the roots below as thirsty as they are.
    ColumnState patchy = uniform_state(column, -200);
    const double below = depletion_fraction(column, patchy, 100);
    const std::size_t top = 0;
    patchy.theta[top] = column.soil[top]->hydraulics().field_capacity;
    const double moist = depletion_fraction(column, patchy, 100);
    CHECK(moist < below);
    patchy.theta[top] += 0.1;
    CHECK(depletion_fraction(column, patchy, 100) == doctest::Approx(moist));
    ColumnState full = uniform_state(column, -0.1);
    CHECK(seed_zone_kpa(column, full) == 0);
}

TEST_CASE("ground: fine soil over coarse holds water back, as a capillary barrier does") {
    double kept[2] = {0, 0};
    for (const int coarse : {0, 1}) {
        const Column column =
            make_column(dressed(coarse == 1 ? TextureClass::sand : TextureClass::loam,
                                Composition(TextureClass::loam), 40),
                        6, 0);
        ColumnState state = uniform_state(column, -200);
        SurfaceForcing f;
        f.supply_mm_per_h = 8;
        step(column, state, f, 3600);
        f.supply_mm_per_h = 0;
        for (int i = 0; i < 288; ++i)
            step(column, state, f, 300);
        for (int i = 0; column.layers.bottom_mm[static_cast<std::size_t>(i)] < 40.5; ++i)
            kept[coarse] += state.theta[static_cast<std::size_t>(i)] *
                            column.layers.thickness_mm[static_cast<std::size_t>(i)];
    }
    CHECK(kept[1] > kept[0] + 0.5);
}

TEST_CASE("ground: compost over the soil keeps the bed beneath damp for longer") {
    double dry_after_h[2] = {0, 0};
    for (const int with : {0, 1}) {
        Ground ground{TextureClass::loam, std::nullopt, std::nullopt};
        if (with == 1) ground.topdressing = Topdressing{6, std::nullopt};
        const Column column = make_column(ground, 12, 0);
        ColumnState state = uniform_state(column, -200);
        SurfaceForcing f;
        f.supply_mm_per_h = 12;
        f.surface_temp_c = 30;
        step(column, state, f, 3600);
        f.supply_mm_per_h = 0;
        f.evaporation_demand_mm_per_h = 0.4;
        f.air_vapour_kpa = 1.5;
        // The layer that ends at the seed.
        while (kpa_at(column, state, column.layers.seed_layers - 1) > -100 &&
               dry_after_h[with] < 400) {
            step(column, state, f, 300);
            dry_after_h[with] += 1.0 / 12;
        }
    }
    CHECK(dry_after_h[1] > dry_after_h[0]);
}
