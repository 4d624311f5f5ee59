#include "soil/heat.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

using namespace firstmow::soil;

TEST_CASE("a daily wave dies away with depth as in a uniform half-space") {
    // Carslaw and Jaeger 1959, Conduction of Heat in Solids, 2.6: the amplitude at depth z is
    // exp(-z/d) of that at the surface, with d = sqrt(2 D / omega).
    Column column = make_column(TextureClass::loam, 6, 0);
    column = refined(column, 4);
    const ColumnState water = uniform_state(column, -33);
    HeatState heat = uniform_heat(column, 20);
    double low_6 = 99, high_6 = -99, low_100 = 99, high_100 = -99;
    int at_6 = 0;
    int at_100 = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        if (column.layers.bottom_mm[static_cast<std::size_t>(i)] < 6.01) at_6 = i;
        if (column.layers.bottom_mm[static_cast<std::size_t>(i)] < 100.01) at_100 = i;
    }
    constexpr int kDays = 12;
    for (int i = 0; i < kDays * 288; ++i) {
        SkinForcing f;
        f.air_temp_c = 20 + 8 * std::sin(2 * 3.14159265 * i / 288.0);
        f.wind_2m_m_s = 3;
        heat_step(column, water, heat, f, 300);
        if (i < (kDays - 1) * 288) continue;
        const double t_6 = heat.layer_c[static_cast<std::size_t>(at_6)];
        const double t_100 = heat.layer_c[static_cast<std::size_t>(at_100)];
        low_6 = std::min(low_6, t_6);
        high_6 = std::max(high_6, t_6);
        low_100 = std::min(low_100, t_100);
        high_100 = std::max(high_100, t_100);
    }
    // Loam at field capacity: conductivity and capacity give D = 0.45e-6 m2/s, d = 0.111 m.
    const double ratio = (high_100 - low_100) / (high_6 - low_6);
    CHECK(ratio == doctest::Approx(std::exp(-(0.094 - 0.005) / 0.111)).epsilon(0.08));
}

TEST_CASE("a dry bed in the sun is far hotter than a wet one") {
    const Column column = make_column(TextureClass::loam, 6, 0);
    const ColumnState dry = uniform_state(column, -5000);
    const ColumnState wet = uniform_state(column, -20);
    HeatState hot = uniform_heat(column, 22);
    HeatState cool = uniform_heat(column, 22);
    SkinForcing f;
    f.air_temp_c = 30;
    f.net_radiation_w_m2 = 500;
    f.wind_2m_m_s = 2;
    for (int i = 0; i < 36; ++i) {
        f.latent_w_m2 = 0;
        heat_step(column, dry, hot, f, 300);
        f.latent_w_m2 = 440; // 0.65 mm/h
        heat_step(column, wet, cool, f, 300);
    }
    CHECK(hot.skin_c > 40);
    CHECK(hot.skin_c < 65);
    CHECK(cool.skin_c < 34);
    CHECK(seed_temp_c(column, hot) < hot.skin_c);
}

TEST_CASE("without sun and wind the soil comes to the temperature of the air") {
    const Column column = make_column(TextureClass::clay, 10, 0);
    const ColumnState water = uniform_state(column, -50);
    HeatState heat = uniform_heat(column, 25);
    SkinForcing f;
    f.air_temp_c = 12;
    f.wind_2m_m_s = 1;
    for (int i = 0; i < 288 * 60; ++i)
        heat_step(column, water, heat, f, 300);
    CHECK(seed_temp_c(column, heat) == doctest::Approx(12).epsilon(0.01));
}
