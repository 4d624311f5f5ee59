// Soil water characteristics against the tables of their authors.
#include "soil/texture.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

using namespace firstmow::soil;

namespace {
struct Row {
    TextureClass texture;
    double wilting_pct, field_pct, saturation_pct, saturated_mm_per_h, a_kpa, b;
};
// Saxton and Rawls 2006, Soil Sci. Soc. Am. J. 70:1569-1578, Table 3 (2.5 % organic matter); a and
// b recomputed from the paper's equations in double precision.
constexpr std::array<Row, 12> kTable3{{
    {TextureClass::sand, 5.0, 10.3, 46.2, 108.1, 1.808e-4, 5.326},
    {TextureClass::loamy_sand, 5.1, 12.0, 46.0, 96.7, .002683, 4.446},
    {TextureClass::sandy_loam, 8.1, 17.9, 45.0, 50.3, .008734, 4.791},
    {TextureClass::loam, 13.7, 28.0, 45.9, 15.5, .03605, 5.351},
    {TextureClass::silt_loam, 11.0, 30.5, 47.9, 16.1, .3917, 3.736},
    {TextureClass::silt, 5.7, 30.5, 47.9, 22.0, 2.174, 2.288},
    {TextureClass::sandy_clay_loam, 16.6, 26.7, 43.4, 11.3, 8.524e-4, 8.001},
    {TextureClass::clay_loam, 21.8, 35.8, 47.7, 4.3, .01211, 7.698},
    {TextureClass::silty_clay_loam, 21.5, 38.2, 51.1, 5.7, .05442, 6.655},
    {TextureClass::silty_clay, 26.8, 40.9, 52.3, 3.7, .01056, 9.004},
    {TextureClass::sandy_clay, 24.9, 36.1, 44.4, 1.4, 9.872e-4, 10.227},
    {TextureClass::clay, 29.8, 42.1, 49.8, 1.1, .002275, 11.065},
}};
} // namespace

TEST_CASE("the twelve textures of Saxton and Rawls 2006, Table 3") {
    for (const Row& row : kTable3) {
        CAPTURE(key(row.texture));
        const Hydraulics h = hydraulics(composition(row.texture));
        CHECK(std::abs(h.wilting_point * 100 - row.wilting_pct) < 0.06);
        CHECK(std::abs(h.field_capacity * 100 - row.field_pct) < 0.06);
        CHECK(std::abs(h.saturation * 100 - row.saturation_pct) < 0.06);
        CHECK(std::abs(h.saturated_mm_per_h - row.saturated_mm_per_h) < 0.06);
        CHECK(std::abs(h.a_kpa / row.a_kpa - 1) < 6e-4);
        CHECK(std::abs(h.b - row.b) < 6e-4);
    }
}

TEST_CASE("field capacity and wilting point lie near FAO-56 Table 19") {
    // FAO Irrigation and Drainage Paper 56, Table 19: the ranges of its nine textures. Saxton and
    // Rawls lie inside them but for clay, whose field capacity is 0.02 above the range.
    struct Range {
        TextureClass texture;
        double field_low, field_high, wilting_low, wilting_high;
    };
    constexpr std::array<Range, 9> kTable19{{
        {TextureClass::sand, .07, .17, .02, .07},
        {TextureClass::loamy_sand, .11, .19, .03, .10},
        {TextureClass::sandy_loam, .18, .28, .06, .16},
        {TextureClass::loam, .20, .30, .07, .17},
        {TextureClass::silt_loam, .22, .36, .09, .21},
        {TextureClass::silt, .28, .36, .12, .22},
        {TextureClass::silty_clay_loam, .30, .37, .17, .24},
        {TextureClass::silty_clay, .30, .42, .17, .29},
        {TextureClass::clay, .32, .40, .20, .24},
    }};
    for (const Range& range : kTable19) {
        CAPTURE(key(range.texture));
        const Hydraulics h = hydraulics(composition(range.texture));
        CHECK(h.field_capacity > range.field_low - 0.005);
        CHECK(h.field_capacity < range.field_high + 0.025);
        // Silt (0.057 against 0.12) and clay (0.298 against 0.24) are where the two disagree.
        if (range.texture != TextureClass::silt && range.texture != TextureClass::clay) {
            CHECK(h.wilting_point > range.wilting_low - 0.005);
            CHECK(h.wilting_point < range.wilting_high + 0.005);
        }
    }
}

TEST_CASE("retention runs without a step and its inverse returns") {
    for (const Row& row : kTable3) {
        CAPTURE(key(row.texture));
        const Hydraulics h = hydraulics(composition(row.texture));
        double before = 0;
        for (double kpa = -1; kpa > -1e5; kpa *= 1.1) {
            if (-kpa < h.air_entry_kpa) continue;
            const double theta = h.water_content(kpa);
            CHECK(h.potential_kpa(theta) == doctest::Approx(kpa).epsilon(1e-9));
            if (before != 0) CHECK(theta < before);
            before = theta;
        }
        CHECK(h.water_content(-33) == doctest::Approx(h.field_capacity).epsilon(1e-12));
        CHECK(h.water_content(-1500) == doctest::Approx(h.wilting_point).epsilon(1e-9));
        CHECK(h.conductivity_mm_per_h(h.saturation) == doctest::Approx(h.saturated_mm_per_h));
    }
}
