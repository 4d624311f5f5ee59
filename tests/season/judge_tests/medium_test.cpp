// The judge's soils against published tables.
#include "judge/medium.hpp"

#include <cmath>
#include <doctest/doctest.h>
#include <initializer_list>

using namespace firstmow::judge;

TEST_CASE("van Genuchten with the class means of Carsel and Parrish 1988") {
    // Water contents at 33 and 1500 kPa, computed from the published formula and parameters.
    struct Row {
        VanGenuchtenValues values;
        double at_33, at_1500;
    };
    const Row rows[] = {
        {{.078, .43, .0036, 1.56, 249.6 / 86400}, .164, .088}, // loam
        {{.067, .45, .0020, 1.41, 108.0 / 86400}, .239, .104}, // silt loam
        {{.068, .38, .0008, 1.09, 48.0 / 86400}, .347, .270},  // clay
    };
    for (const Row& row : rows) {
        const VanGenuchten soil(row.values);
        CHECK(soil.at(-3365).theta == doctest::Approx(row.at_33).epsilon(0.004));
        CHECK(soil.at(-152960).theta == doctest::Approx(row.at_1500).epsilon(0.004));
    }
}

TEST_CASE("Saxton and Rawls' loam at its published points") {
    // Saxton and Rawls 2006, Table 3, loam: 28.0 % at 33 kPa, 13.7 % at 1500 kPa.
    const SaxtonRawls loam({.459, 15.5, 3, .03605, 5.351});
    CHECK(loam.at(-33 * kMmPerKpa).theta == doctest::Approx(.280).epsilon(0.002));
    CHECK(loam.at(-1500 * kMmPerKpa).theta == doctest::Approx(.137).epsilon(0.004));
    CHECK(loam.at(0).theta == doctest::Approx(.459).epsilon(1e-4));
    CHECK(loam.at(-1).conductivity == doctest::Approx(15.5 / 3600));
}

TEST_CASE("slopes are those of the functions, and the inverse inverts") {
    const SaxtonRawls loam({.459, 15.5, 3, .03605, 5.351});
    const VanGenuchten silt_loam({.067, .45, .0020, 1.41, 108.0 / 86400});
    const Medium* soils[] = {&loam, &silt_loam};
    for (const Medium* soil : soils)
        for (const double head : {-500.0, -2000.0, -1e4, -1e5, -1e6, -1e7}) {
            const double d = -head * 1e-5;
            const auto low = soil->at(head - d), high = soil->at(head + d), here = soil->at(head);
            CHECK(here.capacity ==
                  doctest::Approx((high.theta - low.theta) / (2 * d)).epsilon(1e-4));
            CHECK(here.d_conductivity ==
                  doctest::Approx((high.conductivity - low.conductivity) / (2 * d)).epsilon(1e-4));
            if (soil->has_flux_potential())
                CHECK(here.conductivity ==
                      doctest::Approx((high.flux_potential - low.flux_potential) / (2 * d))
                          .epsilon(1e-3));
            CHECK(soil->head_mm(here.theta) == doctest::Approx(head).epsilon(1e-6));
        }
}
