// The tables [renovation] and [zone.renovation].
#include "sample.hpp"

#include "garden/quantity.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

// The sample with more lines at its end: line 39 is the first of them. The last zone is "bed".
std::string with(const std::string& lines) {
    return sample() + lines;
}

Garden good(const std::string& lines) {
    const auto read_back = read(with(lines));
    REQUIRE_MESSAGE(std::holds_alternative<Garden>(read_back), report(errors_of(with(lines))));
    return std::get<Garden>(read_back);
}

} // namespace

TEST_CASE("without the table everything has its default") {
    const Renovation r = good("").renovation;
    CHECK_FALSE(r.lawn.desirable_grass_pct.has_value());
    CHECK_EQ(r.herbicide_wait_days, 14);
    CHECK_FALSE(r.herbicide_wait_given);
    CHECK_EQ(r.settle_days, 7);
    CHECK_EQ(r.starter.n_pct, 16);
    CHECK_EQ(r.sod_roll_m2, 1);
    CHECK_FALSE(r.water_price_per_m3.has_value());
}

TEST_CASE("every key of the table is read, in either system of units") {
    const Garden garden = good("[renovation]\n"
                               "desirable_grass = \"20 %\"\n"
                               "traffic = \"high\"\n"
                               "instant = true\n"
                               "herbicide_wait = \"3 weeks\"\n"
                               "settle = \"1 day\"\n"
                               "seed_purity = \"95 %\"\n"
                               "seed_germination = \"80 %\"\n"
                               "seed_rate = \"5 lb/1000 ft2\"\n"
                               "starter = \"10-20-10.5\"\n"
                               "starter_nitrogen = \"0.5 lb/1000 ft2\"\n"
                               "topsoil = \"1 in\"\n"
                               "topdressing = \"3 mm\"\n"
                               "sod_roll = \"10 ft2\"\n"
                               "sod_waste = \"8 %\"\n"
                               "water_price = \"9 per 1000 gal\"\n"
                               "design_heat = \"95 F\"\n"
                               "daily_record = \"daily.csv\"\n");
    const Renovation& r = garden.renovation;
    CHECK_EQ(r.lawn.desirable_grass_pct.value(), 20);
    CHECK(r.lawn.traffic == Traffic::high);
    CHECK(r.lawn.instant == true);
    CHECK_EQ(r.herbicide_wait_days, 21);
    CHECK(r.herbicide_wait_given);
    CHECK_EQ(r.settle_days, 1);
    CHECK_EQ(r.seed_purity_pct.value(), 95);
    CHECK_EQ(r.seed_germination_pct.value(), 80);
    CHECK_EQ(r.seed_rate_g_per_m2.value(), doctest::Approx(24.412).epsilon(1e-4));
    CHECK_EQ(r.starter.p2o5_pct, 20);
    CHECK_EQ(r.starter.k2o_pct, 10.5);
    CHECK_EQ(r.starter_nitrogen_g_per_m2, doctest::Approx(2.4412).epsilon(1e-4));
    CHECK_EQ(r.topsoil_mm, doctest::Approx(25.4));
    CHECK_EQ(r.topdressing_mm.value(), 3);
    CHECK_EQ(r.sod_roll_m2, doctest::Approx(0.9290304));
    CHECK_EQ(r.sod_waste_pct, 8);
    CHECK_EQ(r.water_price_per_m3.value(), doctest::Approx(2.3775).epsilon(1e-4));
    CHECK_EQ(r.design_heat_c.value(), doctest::Approx(35));
    CHECK_EQ(r.daily_record.value(), "daily.csv");
    // What the garden says holds for its zones.
    CHECK_EQ(garden.zones[0].old_lawn.desirable_grass_pct.value(), 20);
}

TEST_CASE("a zone's own word goes before the garden's, key by key") {
    const Garden garden = good("[zone.renovation]\ndesirable_grass = \"60 %\"\n"
                               "[renovation]\ndesirable_grass = \"20 %\"\ntraffic = \"low\"\n");
    CHECK_EQ(garden.zones[0].old_lawn.desirable_grass_pct.value(), 20);
    CHECK_EQ(garden.zones[1].old_lawn.desirable_grass_pct.value(), 60);
    CHECK(garden.zones[1].old_lawn.traffic == Traffic::low);
}

TEST_CASE("what is wrong in the table is said at its place") {
    struct Case {
        const char* line;
        int column;
        const char* piece;
    };
    const Case cases[] = {
        {"desirable_grass = 20", 19, "is the bare number 20; a number with its unit (%)"},
        {"desirable_grass = \"120 %\"", 19, "from 0 to 100 % would be right"},
        {"traffic = \"hi\"", 11, "one of \"low\", \"medium\" or \"high\""},
        {"instant = \"yes\"", 11, "instant is text; true or false without quotes would be right"},
        {"herbicide_wait = \"14\"", 18, "has no unit; a number with days or weeks"},
        {"herbicide_wait = \"2 months\"", 18, "has the wrong unit"},
        {"herbicide_wait = \"99 weeks\"", 18, "from 0 to 180 days would be right"},
        {"seed_purity = \"5 %\"", 15, "from 20 to 100 % would be right"},
        {"starter = \"16-16\"", 11, "is not an analysis"},
        {"starter = \"16-16-16-16\"", 11, "is not an analysis"},
        {"starter = \"60-30-30\"", 11, "is not an analysis"},
        {"starter = \"-1-2-3\"", 11, "is not an analysis"},
        {"starter = \"0-20-10\"", 11, "no nitrogen"},
        {"water_price = \"2.5\"", 15, "per m3, per 1000 gal or per 100 ft3"},
        {"water_price = \"-1 per m3\"", 15, "from 0 to 1000 per m3 would be right"},
        {"design_heat = \"34\"", 15, "C or F"},
        {"design_heat = \"340 C\"", 15, "from 10 to 50 C would be right"},
        {"herbicide = \"14 days\"", 1, "[renovation] has no key \"herbicide\""},
    };
    for (const Case& c : cases) {
        CAPTURE(c.line);
        const auto errors = errors_of(with("[renovation]\n" + std::string(c.line) + "\n"));
        REQUIRE_MESSAGE(errors.size() == 1, report(errors));
        CHECK_EQ(errors[0].line, 40);
        CHECK_EQ(errors[0].column, c.column);
        CHECK_MESSAGE(errors[0].message.find(c.piece) != std::string::npos, errors[0].message);
    }
    const auto errors = errors_of(with("[zone.renovation]\nstarter = \"16-16-16\"\n"));
    REQUIRE_EQ(errors.size(), 1);
    CHECK(errors[0].message.starts_with("renovation of [[zone]] \"bed\" has no key \"starter\""));
}

TEST_CASE("the new units convert by their definitions") {
    CHECK_EQ(parse_quantity("32 F", Dimension::temperature_c).value(), doctest::Approx(0));
    CHECK_EQ(parse_quantity("-40 F", Dimension::temperature_c).value(), doctest::Approx(-40));
    CHECK_EQ(parse_quantity("2 weeks", Dimension::duration_days).value(), 14);
    // Pound 453.59237 g, foot 0.3048 m, US gallon 3.785411784 L: all exact by definition.
    CHECK_EQ(parse_quantity("1 lb/1000 ft2", Dimension::cover_g_per_m2).value(),
             doctest::Approx(4.88242764).epsilon(1e-8));
    CHECK_EQ(parse_quantity("1 per 100 ft3", Dimension::price_per_m3).value(),
             doctest::Approx(0.353146667).epsilon(1e-8));
}
