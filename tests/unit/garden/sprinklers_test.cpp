// How a zone's rate and uniformity are known: cans, flow, heads.
#include "garden/sprinklers.hpp"

#include "sample.hpp"

#include <cmath>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

Garden good(const std::vector<std::pair<std::size_t, std::string>>& replacements) {
    auto read_back = read(sample(replacements));
    if (const auto* errors = std::get_if<std::vector<FileError>>(&read_back)) FAIL(report(*errors));
    return std::get<Garden>(read_back);
}
std::string wrong(const std::vector<std::pair<std::size_t, std::string>>& replacements) {
    return report(errors_of(sample(replacements)));
}

const char* const kCans = "catch_cans = { readings = \"14 16 17 18 19 20 20 21 22 22 23 24 24 25 "
                          "26 29 mL\", opening = \"16.25 in2\", time = \"10 min\" }";

} // namespace

TEST_CASE("catch cans: rate and lower-quarter uniformity of sixteen cans") {
    // Worked by hand: mean 21.25 mL through 16.25 in2 in 10 min; 3.6614 mL min-1 in-2 is 1 in/h:
    // 0.4788 in/h = 12.16 mm/h. The lowest four average 16.25 mL.
    CatchCans cans;
    cans.minutes = 10;
    for (const double ml : {14, 16, 17, 18, 19, 20, 20, 21, 22, 22, 23, 24, 24, 25, 26, 29})
        cans.depth_mm.push_back(can_depth_mm(ml, 16.25 * 6.4516));
    const auto test = evaluate(cans);
    REQUIRE(test.ok());
    CHECK(test->rate_mm_per_h == doctest::Approx(12.16).epsilon(0.001));
    CHECK(test->uniformity == doctest::Approx(0.7647).epsilon(0.0001));
    CHECK(test->cans == 16);
    // A quarter of five cans is one and a quarter.
    const auto five = evaluate({{1, 2, 3, 4, 5}, 60});
    REQUIRE(five.ok());
    CHECK(five->uniformity == doctest::Approx((1 + 0.25 * 2) / 1.25 / 3));
    CHECK(five->rate_mm_per_h == 3);
}

TEST_CASE("rate from flow and area: 96.25 gpm over square feet, in our units") {
    // The trade's identity: 10 gal/min over 1000 ft2 is 0.9625 in/h.
    CHECK(rate_from_flow_mm_per_h(10 * 3.785411784, 1000 * 0.09290304) ==
          doctest::Approx(0.9625 * 25.4).epsilon(1e-4));
}

TEST_CASE("catch cans that are no test are refused with a sentence") {
    const auto message = [](const CatchCans& cans) {
        const auto test = evaluate(cans);
        return test.ok() ? std::string() : test.error().message;
    };
    CHECK(message({{0, 0, 0}, 10}).find("every can is empty") == 0);
    CHECK(message({{}, 10}).find("there is no reading") == 0);
    CHECK(message({{1, 2}, 0}).find("the test lasts 0.00 min") == 0);
    CHECK(message({{1, 2}, -3}).find("the test lasts") == 0);
    CHECK(message({{1, 2}, std::nan("")}).find("the test lasts") == 0);
    CHECK(message({{1, -2}, 10}).find("a can is said to hold -2.00 mm") == 0);
    CHECK(message({{1, std::nan("")}, 10}).find("a can is said to hold") == 0);
    CHECK(message({{301}, 10}).find("a can is said to hold") == 0);
    CHECK(message({{100, 100}, 1}).find("the cans make 6000.000 mm/h") == 0);
    CHECK(message({std::vector<double>(201, 1.0), 10}).find("there are more than 200") == 0);
    CHECK(message({{0, 0, 0, 1}, 10}).empty()); // a dry spot is a finding
}

TEST_CASE("a zone's rate by each of the ways") {
    const Garden cans = good({{21, kCans}, {22, ""}});
    CHECK(cans.zones[0].precipitation_rate_mm_per_h == doctest::Approx(12.16).epsilon(0.001));
    CHECK(cans.zones[0].distribution_uniformity == doctest::Approx(0.7647).epsilon(0.001));
    CHECK(cans.zones[0].rate_source == RateSource::cans);
    CHECK(cans.cautions.empty());
    // A figure that the file gives beside the cans is the owner's word.
    CHECK(good({{21, kCans}}).zones[0].distribution_uniformity == 0.65);

    const Garden round = good({{21, "catch_cans = { readings = '10 11 mL', diameter = '20 cm', "
                                    "time = '5 min' }"},
                               {22, ""}});
    CHECK(round.zones[0].precipitation_rate_mm_per_h == doctest::Approx(4.01).epsilon(0.001));
    CHECK(round.zones[0].distribution_uniformity == 0.6); // two cans tell no uniformity
    const Garden inches = good({{21, "catch_cans = { readings = '0.1 0.1 in', time = '0.2 h' }"}});
    CHECK(inches.zones[0].precipitation_rate_mm_per_h == doctest::Approx(12.7));

    const Garden flow = good({{21, "flow = '18 L/min'"}});
    CHECK(flow.zones[0].precipitation_rate_mm_per_h == doctest::Approx(12));
    CHECK(flow.zones[0].rate_source == RateSource::flow);

    const Garden heads = good({{21, "heads = 'rotor'"}, {22, ""}});
    CHECK(heads.zones[0].precipitation_rate_mm_per_h == 12);
    CHECK(heads.zones[0].distribution_uniformity == 0.65);
    CHECK(heads.zones[0].rate_source == RateSource::heads);
    REQUIRE(heads.cautions.size() == 1);
    CHECK(heads.cautions[0].line == 21);
    CHECK(heads.cautions[0].message.find("only the usual one of such heads, 12 mm/h") !=
          std::string::npos);

    // Heads beside a rate say how fine the drops are, and nothing is assumed.
    const Garden both = good({{20, "heads = 'spray'"}});
    CHECK(both.zones[0].precipitation_rate_mm_per_h == 12);
    CHECK(both.zones[0].heads == Heads::spray);
    CHECK(both.zones[0].rate_source == RateSource::given);
    CHECK(both.cautions.empty());
}

TEST_CASE("a rate that is given twice, or not well, is refused where it stands") {
    CHECK(wrong({{20, kCans}}) ==
          "garden.toml:20:14: catch_cans says again what precipitation_rate says, how fast the "
          "sprinklers bring water; one of \"precipitation_rate\", \"catch_cans\" or \"flow\" would "
          "be right\n");
    CHECK(wrong({{20, "flow = '10 L/min'"}}).find("garden.toml:20:8: flow says again") == 0);
    const auto cans = [](const std::string& inside) {
        return wrong({{21, "catch_cans = { " + inside + " }"}});
    };
    CHECK(cans("readings = '0 0 0 0 mm', time = '10 min'")
              .find("readings make no rate: every can is empty") != std::string::npos);
    CHECK(cans("readings = '1 -2 mm', time = '10 min'").find("said to hold -2.00 mm") !=
          std::string::npos);
    CHECK(cans("readings = '1 2 3', time = '10 min'").find("no row of numbers with one unit") !=
          std::string::npos);
    CHECK(cans("readings = 'mm', time = '10 min'").find("no row of numbers") != std::string::npos);
    CHECK(cans("readings = '1 2 mm 3', time = '10 min'").find("no row of numbers") !=
          std::string::npos);
    CHECK(cans("readings = '1 2 mL', time = '10 min'").find("gives mL and no size of the cans") !=
          std::string::npos);
    CHECK(cans("readings = '1 2 mm', opening = '10 cm2', time = '10 min'")
              .find("opening is for readings in mL") != std::string::npos);
    CHECK(cans("readings = '1 2 mm'").find("lacks \"time\"") != std::string::npos);
    CHECK(cans("readings = '0 0 0 9 9 9 9 9 9 9 9 9 mm', time = '10 min'")
              .find("must be mended first") != std::string::npos);
    CHECK(wrong({{21, "flow = '0 L/min'"}}).find("flow is \"0 L/min\"") != std::string::npos);
    CHECK(wrong({{21, "heads = 'rotors'"}}).find("did you mean \"rotor\"?") != std::string::npos);
    CHECK(wrong({{21, ""}}).find("lacks \"precipitation_rate\"") != std::string::npos);
    CHECK(
        wrong({{21, "flow = '30 L/min'"}, {18, "area = '1 m2'"}}).find("flow makes 1800.00 mm/h") !=
        std::string::npos);
    // More than the tap gives, by whatever way it is known.
    CHECK(wrong({{21, "flow = '36 L/min'"}}).find("flow asks for 36.00 L/min") !=
          std::string::npos);
    CHECK(wrong({{22, "distribution_uniformity = 2"}}).find("from 0.1 to 1 would be right") !=
          std::string::npos);
    CHECK(wrong({{20, "slope = '300 %'"}}).find("from 0 to 100 % would be right") !=
          std::string::npos);
    CHECK(wrong({{21, "precipitation_rate = '0 mm/h'"}}).find("from 0.1 to 200 mm/h") !=
          std::string::npos);
}
