// Catch cans as a person notes them down.
#include "garden/cans.hpp"
#include "sample.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

Zone zone_with(const std::string& cans) {
    const auto garden = read(sample({{21, "catch_cans = " + cans}, {22, ""}}));
    REQUIRE_MESSAGE(std::holds_alternative<Garden>(garden),
                    report(errors_of(sample({{21, "catch_cans = " + cans}, {22, ""}}))));
    return std::get<Garden>(garden).zones.front();
}

} // namespace

TEST_CASE("cans: what is reckoned is what the garden file makes of the same notes") {
    const std::vector<CanNotes> all = {
        {{2.1, 1.8, 2.4, 2, 1.9, 2.2}, CanNotes::Unit::mm, 10, 0},
        {{0.08, 0.07, 0.1, 0.09}, CanNotes::Unit::in, 12.5, 0},
        {{14, 16, 17, 18, 19, 20, 20, 21, 22, 22, 23, 24, 24, 25, 26, 29},
         CanNotes::Unit::ml,
         10,
         115.6},
    };
    for (const CanNotes& notes : all) {
        const auto told = report(notes);
        REQUIRE(told);
        const Zone zone = zone_with(toml(notes));
        CHECK(zone.precipitation_rate_mm_per_h == doctest::Approx(told->test.rate_mm_per_h));
        CHECK(zone.distribution_uniformity == doctest::Approx(told->test.uniformity));
        CHECK(told->mean_mm * 60 / notes.minutes == doctest::Approx(told->test.rate_mm_per_h));
        CHECK(evaluate(told->cans)->rate_mm_per_h == told->test.rate_mm_per_h);
    }
}

TEST_CASE("cans: an inch is 25.4 mm, and a litre on a square metre is one millimetre") {
    const auto inches = report({{0.5, 0.5}, CanNotes::Unit::in, 60, 0});
    REQUIRE(inches);
    CHECK(inches->test.rate_mm_per_h == doctest::Approx(12.7));
    // A mouth of 112.838 mm has 100 cm2: 10 mL are 1 mm.
    const auto ml = report({{10, 10}, CanNotes::Unit::ml, 60, 112.838});
    REQUIRE(ml);
    CHECK(ml->test.rate_mm_per_h == doctest::Approx(1).epsilon(1e-4));
}

TEST_CASE("cans: the worst are named by their place, and what the test is worth") {
    const auto told = report({{5, 1, 4, 2, 5, 5, 5, 5}, CanNotes::Unit::mm, 20, 0});
    REQUIRE(told);
    CHECK(told->driest == std::vector<std::size_t>{1, 3});
    CHECK(told->worth ==
          "8 cans give a first idea; 16 or more, all over the zone, make a good test.");
    CHECK(told->meaning.starts_with("Poor: to give the driest quarter"));
    const auto few = report({{5, 1, 4}, CanNotes::Unit::mm, 20, 0});
    REQUIRE(few);
    CHECK(few->driest.empty());
    CHECK(few->meaning.empty());
    const auto even = report({std::vector<double>(16, 3.0), CanNotes::Unit::mm, 20, 0});
    REQUIRE(even);
    CHECK(even->worth == "16 cans make a good test.");
    CHECK(even->meaning.starts_with("Even enough for a lawn; to give the driest quarter what the "
                                    "mean gets, a run is 1.0 times as long"));
    CHECK(even->driest.size() == 4);
}

TEST_CASE("cans: nonsense is refused in a sentence") {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    for (const CanNotes& notes : std::vector<CanNotes>{
             {{}, CanNotes::Unit::mm, 10, 0},
             {{0, 0}, CanNotes::Unit::mm, 10, 0},
             {{-1, 2}, CanNotes::Unit::mm, 10, 0},
             {{nan, 2}, CanNotes::Unit::mm, 10, 0},
             {{1, 2}, CanNotes::Unit::mm, 0, 0},
             {{1, 2}, CanNotes::Unit::mm, nan, 0},
             {{1, 2}, CanNotes::Unit::ml, 10, 0},
             {{1, 2}, CanNotes::Unit::ml, 10, nan},
             {{1, 2}, CanNotes::Unit::ml, 10, 900},
             {std::vector<double>(201, 1.0), CanNotes::Unit::mm, 10, 0},
         }) {
        const auto told = report(notes);
        CHECK_FALSE(told.ok());
        if (!told) CHECK(told.error().message.find("would be right") != std::string::npos);
    }
}
