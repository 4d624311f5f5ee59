// The soil of a zone as the file may write it: a class, a soil report, a loosened top, a
// topdressing.
#include "sample.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

Zone front_with(const std::string& soil_lines) {
    const std::string text = sample({{19, soil_lines}});
    const auto read_back = read(text, {});
    const auto* const garden = std::get_if<Garden>(&read_back);
    REQUIRE_MESSAGE(garden != nullptr, report(errors_of(text)));
    return garden->zones.front();
}

// One mistake, told in a sentence that holds `words`.
void refuses(const std::string& soil_lines, const std::string& words) {
    CAPTURE(soil_lines);
    const auto errors = errors_of(sample({{19, soil_lines}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK(errors[0].line >= 19);
    CHECK(errors[0].line <= 20);
    CHECK_MESSAGE(errors[0].message.find(words) != std::string::npos, errors[0].message);
}

} // namespace

TEST_CASE("soil: sand, clay, organic matter, gravel and density as a soil report gives them") {
    const soil::Composition s =
        front_with("soil = { sand = '42 %', clay = '18 %', organic_matter = '3 %', "
                   "gravel = '5 %', density = '105 %' }")
            .soil;
    CHECK(s.sand == doctest::Approx(0.42));
    CHECK(s.clay == doctest::Approx(0.18));
    CHECK(s.organic_matter_pct == doctest::Approx(3));
    CHECK(s.gravel_pct == doctest::Approx(5));
    CHECK(s.density_factor == doctest::Approx(1.05));

    const soil::Composition plain = front_with("soil = { sand = '40 %', clay = '20 %' }").soil;
    CHECK(plain == soil::Composition(soil::TextureClass::loam));
    const soil::Composition dense =
        front_with("soil = { texture = 'clay_loam', density = '110 %' }").soil;
    CHECK(dense.clay == soil::Composition(soil::TextureClass::clay_loam).clay);
    CHECK(dense.density_factor == doctest::Approx(1.1));
    CHECK(front_with("soil = 'clay'").soil == soil::TextureClass::clay);
}

TEST_CASE("soil: a loosened top and a topdressing") {
    const Zone zone = front_with("soil = 'clay_loam'\nloosened = { depth = '2 in' }\n"
                                 "topdressing = { depth = '6 mm', material = 'compost' }");
    REQUIRE(zone.loosened);
    CHECK(zone.loosened->depth_mm == doctest::Approx(50.8));
    CHECK(zone.loosened->density_factor == 0.9);
    REQUIRE(zone.topdressing);
    CHECK(zone.topdressing->depth_mm == 6);
    CHECK_FALSE(zone.topdressing->soil);
    CHECK(soil::strata(zone.ground()).size() == 3);

    const Zone sanded = front_with("soil = 'loam'\n"
                                   "topdressing = { depth = '4 mm', material = 'sand' }");
    REQUIRE(sanded.topdressing);
    CHECK(sanded.topdressing->soil == soil::Composition(soil::TextureClass::sand));
    CHECK_FALSE(sanded.loosened);
}

TEST_CASE("soil: nonsense is refused in one sentence") {
    refuses("soil = { sand = '70 %', clay = '40 %' }", "clay and sand make 110 %; 100 % at most");
    refuses("soil = { sand = '40 %' }", "lacks \"clay\"");
    refuses("soil = { clay = '40 %' }", "lacks \"sand\"");
    refuses("soil = { organic_matter = '4 %' }", "says neither texture nor sand and clay");
    refuses("soil = { texture = 'loam', sand = '40 %' }", "either a texture or sand and clay");
    refuses("soil = { sand = '-4 %', clay = '20 %' }", "from 0 to 100 %");
    refuses("soil = { sand = '10 %', clay = '80 %' }", "from 0 to 60 %");
    refuses("soil = { sand = 40, clay = '20 %' }", "bare number 40");
    refuses("soil = { sand = '40 %', clay = '20 %', organic_matter = '30 %' }", "from 0 to 8 %");
    refuses("soil = { texture = 'loam', gravel = '90 %' }", "from 0 to 60 %");
    refuses("soil = { texture = 'loam', density = '200 %' }", "from 90 to 130 %");
    refuses("soil = { texture = 'lome' }", "did you mean \"loam\"?");
    refuses("soil = { texture = 'clay', density = '130 %' }", "would be right for this soil");
    refuses("soil = { sand = '100 %', clay = '0 %', organic_matter = '0 %' }",
            "beyond the formulas for soil water");
    refuses("soil = 'loam'\nloosened = { depth = '-5 mm' }", "from 5 to 300 mm");
    refuses("soil = 'loam'\nloosened = { depth = '50 mm', density = '100 %' }", "is no looser");
    refuses("soil = 'loam'\nloosened = { density = '90 %' }", "lacks \"depth\"");
    refuses("soil = 'loam'\ntopdressing = { depth = '0 mm', material = 'sand' }",
            "from 1 to 100 mm");
    refuses("soil = 'loam'\ntopdressing = { depth = '5 mm', material = 'gravel' }", "is unknown");
    refuses("soil = 'loam'\ntopdressing = { depth = '5 mm' }", "lacks \"material\"");
}
