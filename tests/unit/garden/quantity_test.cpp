#include "garden/quantity.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::garden;

TEST_CASE("every unit converts by its definition") {
    // Exact by definition: in = 25.4 mm, ft = 0.3048 m (international yard and pound agreement,
    // 1959); US gallon = 231 cubic inches = 3.785411784 L.
    struct Case {
        const char* text;
        Dimension dimension;
        double value;
    };
    const Case cases[] = {
        {"6 mm", Dimension::depth_mm, 6},
        {"0.5 in", Dimension::depth_mm, 12.7},
        {"2 cm", Dimension::depth_mm, 20},
        {"290 m", Dimension::length_m, 290},
        {"1000 ft", Dimension::length_m, 304.8},
        {"-12 m", Dimension::length_m, -12},
        {"12 mm/h", Dimension::rate_mm_per_h, 12},
        {"1.5 in/h", Dimension::rate_mm_per_h, 38.1},
        {"90 m2", Dimension::area_m2, 90},
        {"100 ft2", Dimension::area_m2, 9.290304},
        {"35 L/min", Dimension::flow_l_per_min, 35},
        {"10 gal/min", Dimension::flow_l_per_min, 37.85411784},
        {"2 %", Dimension::percent, 2},
        {"-200 kPa", Dimension::potential_kpa, -200},
        {"90 s", Dimension::duration_s, 90},
        {"2.5 min", Dimension::duration_s, 150},
        {"1 h", Dimension::duration_s, 3600},
        {"12mm/h", Dimension::rate_mm_per_h, 12}, // the blank may be left out
    };
    for (const Case& c : cases) {
        CAPTURE(c.text);
        const auto value = parse_quantity(c.text, c.dimension);
        REQUIRE(value.ok());
        CHECK_EQ(*value, doctest::Approx(c.value).epsilon(1e-12));
    }
}

TEST_CASE("what is no quantity says why and names the units that would be right") {
    struct Case {
        const char* text;
        const char* why;
    };
    const Case cases[] = {
        {"12", "has no unit"},
        {"12 ", "has no unit"},
        {"", "does not begin with a decimal number"},
        {"mm/h", "does not begin with a decimal number"},
        {"--3 mm/h", "does not begin with a decimal number"},
        {" 12 mm/h", "does not begin with a decimal number"},
        {"nan mm/h", "does not begin with a decimal number"},
        {"1e3 mm/h", "has the wrong unit"},
        {"12 mm", "has the wrong unit"},
        {"12 MM/H", "has the wrong unit"},
        {"12 mm/h ", "has the wrong unit"},
        {"12,5 mm/h", "has a comma in its number"},
    };
    for (const Case& c : cases) {
        CAPTURE(c.text);
        const auto value = parse_quantity(c.text, Dimension::rate_mm_per_h);
        REQUIRE_FALSE(value.ok());
        CHECK_EQ(value.error().message, '"' + std::string(c.text) + "\" " + c.why +
                                            "; a number with mm/h or in/h would be right");
    }
}

TEST_CASE("a number that leaves the range of arithmetic is refused, not made infinite") {
    CHECK_FALSE(parse_quantity(std::string(400, '9') + " mm", Dimension::depth_mm).ok());
    CHECK_FALSE(parse_quantity(std::string(308, '9') + " in", Dimension::depth_mm).ok());
}

TEST_CASE("the units of every dimension are the ones it takes") {
    for (const auto dimension : {Dimension::depth_mm, Dimension::length_m, Dimension::rate_mm_per_h,
                                 Dimension::area_m2, Dimension::flow_l_per_min, Dimension::percent,
                                 Dimension::potential_kpa, Dimension::duration_s}) {
        // "mm, cm or in" -> each of the three.
        std::string units(units_of(dimension));
        for (const char* const glue : {", ", " or "}) {
            for (auto at = units.find(glue); at != std::string::npos; at = units.find(glue))
                units.replace(at, std::string(glue).size(), "\n");
        }
        units += '\n';
        for (std::size_t from = 0; from < units.size();) {
            const std::size_t to = units.find('\n', from);
            const std::string text = "1 " + units.substr(from, to - from);
            CAPTURE(text);
            CHECK(parse_quantity(text, dimension).ok());
            from = to + 1;
        }
    }
}
