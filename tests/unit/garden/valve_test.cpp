// The valve of a zone: which driver takes which keys.
#include "sample.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

// The sample with this valve for the zone "bed", on line 38.
std::string with_valve(const std::string& keys) {
    return sample({{38, "valve = { " + keys + " }"}});
}

Valve valve_of(const std::string& keys) {
    const auto read_back = read(with_valve(keys), {});
    const auto* const garden = std::get_if<Garden>(&read_back);
    REQUIRE_MESSAGE(garden != nullptr, report(errors_of(with_valve(keys))));
    return garden->zones.at(1).valve;
}

void refuses(const std::string& keys, int column, const std::string& message) {
    CAPTURE(keys);
    const auto errors = errors_of(with_valve(keys));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].line, 38);
    CHECK_EQ(errors[0].column, column);
    CHECK_EQ(errors[0].message, message);
}

} // namespace

TEST_CASE("a valve on a GPIO line") {
    const Valve plain =
        valve_of("driver = 'gpio', channel = 1, chip = 'pinctrl-bcm2711', line = 17");
    CHECK_EQ(plain.driver, "gpio");
    CHECK_EQ(plain.channel, 1); // taken by "front" only for its own driver
    CHECK_EQ(plain.chip, "pinctrl-bcm2711");
    CHECK_EQ(plain.line, 17);
    CHECK_FALSE(plain.active_low);
    CHECK(plain.bias == Bias::as_is);
    CHECK_FALSE(plain.file.has_value());
    const Valve full = valve_of("driver = 'gpio', channel = 2, chip = '/dev/gpiochip0', line = 0, "
                                "active_low = true, bias = 'pull_up'");
    CHECK(full.active_low);
    CHECK(full.bias == Bias::pull_up);
    CHECK(valve_of("driver = 'gpio', channel = 2, chip = 'c', line = 1, bias = 'disabled'").bias ==
          Bias::disabled);
    CHECK(valve_of("driver = 'gpio', channel = 2, chip = 'c', line = 1, bias = 'pull_down'").bias ==
          Bias::pull_down);
}

TEST_CASE("a GPIO valve without chip or line is refused at its table") {
    refuses("driver = 'gpio', channel = 2, line = 3", 9,
            R"(valve of [[zone]] "bed" lacks "chip", which driver "gpio" needs; write, for )"
            R"(example, chip = "pinctrl-bcm2711")");
    refuses("driver = 'gpio', channel = 2, chip = 'relays'", 9,
            R"(valve of [[zone]] "bed" lacks "line", which driver "gpio" needs; write, for )"
            R"(example, line = 17)");
}

TEST_CASE("a GPIO valve's values are of the right type and within bounds") {
    refuses("driver = 'gpio', channel = 2, chip = 'c', line = -1", 60,
            "line is -1; a whole number from 0 to 1023 would be right");
    refuses("driver = 'gpio', channel = 2, chip = 'c', line = '17'", 60,
            "line is text; a whole number without quotes would be right: line = 17");
    refuses("driver = 'gpio', channel = 2, chip = 3, line = 17", 48,
            R"(chip is a whole number; text in quotes would be right: chip = "pinctrl-bcm2711")");
    refuses("driver = 'gpio', channel = 2, chip = 'c', line = 1, active_low = 'yes'", 76,
            "active_low is text; true or false without quotes would be right: active_low = true");
    refuses("driver = 'gpio', channel = 2, chip = 'c', line = 1, bias = 'pull_upp'", 70,
            R"(bias "pull_upp" is unknown; did you mean "pull_up"?)");
}

TEST_CASE("keys of one driver beside the name of the other are refused") {
    refuses("driver = 'simulated', channel = 2, line = 4", 53,
            R"(line is for driver "gpio"; that driver, or leaving the key out, would be right)");
    refuses(
        "driver = 'gpio', channel = 2, chip = 'c', line = 1, file = 'valves.log'", 70,
        R"(file is for driver "simulated"; that driver, or leaving the key out, would be right)");
}

TEST_CASE("two valves on one line of a chip are refused; on two chips they are not") {
    const std::string first = "valve = { driver = 'gpio', channel = 1, chip = 'a', line = 5 }";
    const auto errors = errors_of(sample(
        {{26, first}, {38, "valve = { driver = 'gpio', channel = 2, chip = 'a', line = 5 }"}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].line, 38);
    CHECK_EQ(errors[0].message, R"(line 5 of chip "a" is taken by zone "front"; a line of its own )"
                                R"(would be right)");
    CHECK(
        errors_of(sample({{26, first},
                          {38, "valve = { driver = 'gpio', channel = 2, chip = 'b', line = 5 }"}}))
            .empty());
}
