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
    refuses(
        "driver = 'simulated', channel = 2, line = 4", 53,
        R"(line is for drivers "gpio", "mcp23017", "pcf8574"; one of those, or leaving the key )"
        R"(out, would be right)");
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

TEST_CASE("valves on I2C expanders") {
    const Valve valve = valve_of("driver = 'mcp23017', channel = 1, bus = '/dev/i2c-1', "
                                 "address = 0x21, line = 15, active_low = true");
    CHECK_EQ(valve.driver, "mcp23017");
    CHECK_EQ(valve.bus, "/dev/i2c-1");
    CHECK_EQ(valve.address, 0x21);
    CHECK_EQ(valve.line, 15);
    CHECK(valve.active_low);
    CHECK_FALSE(valve.latches());
    refuses("driver = 'pcf8574', channel = 1, bus = '/dev/i2c-1', address = 0x21, line = 8", 87,
            "line is 8; a whole number from 0 to 7 would be right");
    refuses("driver = 'pcf8574', channel = 1, bus = 'i2c-1', address = 0x21, line = 7", 50,
            R"(bus "i2c-1" is no path; one from the root would be right)");
    refuses("driver = 'pcf8574', channel = 1, bus = '/dev/i2c-1', line = 7", 9,
            R"(valve of [[zone]] "bed" lacks "address", which driver "pcf8574" needs; write, for )"
            R"(example, address = 0x20)");
    const std::string first = "valve = { driver = 'mcp23017', channel = 1, bus = '/dev/i2c-1', "
                              "address = 0x20, line = 5 }";
    const auto errors = errors_of(
        sample({{26, first},
                {38, "valve = { driver = 'mcp23017', channel = 2, bus = '/dev/i2c-1', address = "
                     "32, line = 5 }"}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].message, R"(line 5 of the expander at address 32 on /dev/i2c-1 is taken by )"
                                R"(zone "front"; a line of its own would be right)");
}

TEST_CASE("latching valves: two lines, or two lengths on one") {
    const std::string gpio = "driver = 'gpio', channel = 1, chip = 'c', line = 1, ";
    const Valve two = valve_of(gpio + "close_line = 2, pulse = '0.06 s'");
    CHECK(two.latches());
    CHECK_EQ(two.pulse_ms, 60);
    CHECK_EQ(two.close_pulse_ms, 60);
    CHECK_EQ(two.close_line.value(), 2);
    const Valve one = valve_of(gpio + "pulse = '0.05 s', close_pulse = '0.2 s'");
    CHECK_EQ(one.pulse_ms, 50);
    CHECK_EQ(one.close_pulse_ms, 200);
    CHECK_FALSE(one.close_line.has_value());
    refuses(gpio + "pulse = '0.06 s'", 71,
            "pulse opens and closes alike; close_line = 18 (a line of its own for the closing "
            "pulse) or a close_pulse of another length would be right");
    refuses(gpio + "close_line = 2", 76,
            "close_line is for a latching valve; pulse = \"0.06 s\" beside it would be right");
    refuses(gpio + "close_line = 1, pulse = '0.06 s'", 76,
            R"(line 1 of chip "c" is taken by zone "bed"; a line of its own would be right)");
    refuses(gpio + "close_line = 2, pulse = '2 s'", 87,
            R"(pulse is "2 s"; from 0.01 to 0.5 s would be right)");
}

TEST_CASE("valves on a Modbus relay board") {
    const Valve valve = valve_of("driver = 'modbus', channel = 1, port = '/dev/ttyUSB0', baud = "
                                 "19200, parity = 'even', stop_bits = 2, unit = 3, coil = 7");
    CHECK_EQ(valve.port, "/dev/ttyUSB0");
    CHECK_EQ(valve.baud, 19200);
    CHECK(valve.parity == Parity::even);
    CHECK_EQ(valve.stop_bits, 2);
    CHECK_EQ(valve.unit, 3);
    CHECK_EQ(valve.coil, 7);
    refuses("driver = 'modbus', channel = 1, port = '/dev/ttyUSB0', baud = 9601, unit = 3, coil = "
            "7",
            73,
            "baud is 9601; 1200, 2400, 4800, 9600, 19200, 38400, 57600 or 115200 would be right");
    const std::string first = "valve = { driver = 'modbus', channel = 1, port = '/dev/ttyUSB0', "
                              "unit = 1, coil = 0 }";
    const auto errors = errors_of(
        sample({{26, first},
                {38, "valve = { driver = 'modbus', channel = 2, port = '/dev/ttyUSB0', unit = 1, "
                     "coil = 1, baud = 19200 }"}}));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_EQ(errors[0].message, "/dev/ttyUSB0 has two sets of baud, parity and stop_bits; the same "
                                "for all of its valves would be right");
}

TEST_CASE("valves behind HTTP") {
    const std::string open = "open = { method = 'PUT', url = 'http://192.168.1.40:81/v/1', body = "
                             "'{\"is\": \"open\"}' }, ";
    const std::string close = "close = { url = 'http://192.168.1.40/v/1/close?now' }";
    const std::string begin = "driver = 'http', channel = 1, ";
    const Valve valve = valve_of(begin + open + close +
                                 ", read = { url = 'http://192.168.1.40', when_open = 'on', "
                                 "when_closed = 'off' }, header = 'X-Key: 1'");
    CHECK_EQ(valve.open.method, "PUT");
    CHECK(valve.open.target.address == std::array<std::uint8_t, 4>{192, 168, 1, 40});
    CHECK_EQ(valve.open.target.port, 81);
    CHECK_EQ(valve.open.target.path, "/v/1");
    CHECK_EQ(valve.open.body, "{\"is\": \"open\"}");
    CHECK_EQ(valve.close.method, "GET");
    CHECK_EQ(valve.close.target.path, "/v/1/close?now");
    CHECK_EQ(valve.read.value().target.path, "/");
    CHECK_EQ(valve.read.value().when_closed, "off");
    CHECK_EQ(valve.header.value(), "X-Key: 1");
    refuses(begin + "open = { url = 'http://10.0.0.1/1' }, close = { url = 'http://10.0.0.1/1' }",
            87, "close asks the same as open; a request that closes would be right");
}

TEST_CASE("what is no address of an HTTP relay is told apart") {
    const auto refused = [](const std::string& url, const std::string& why) {
        const auto errors =
            errors_of(with_valve("driver = 'http', channel = 1, open = { url = '" + url +
                                 "' }, close = { url = 'http://192.168.1.40/close' }"));
        REQUIRE_MESSAGE(errors.size() == 1, report(errors));
        CHECK_EQ(errors[0].message,
                 "url \"" + url + "\" " + why +
                     "; http://ADDRESS:PORT/PATH with an address such as 192.168.1.40 would be "
                     "right: closing a valve must not hang on a name server");
    };
    refused("https://192.168.1.40/a", "asks for TLS, which the valve keeper does not speak");
    refused("relay/1", "does not begin with http://");
    refused("http://relay.local/a", "has no numeric IPv4 address");
    refused("http://192.168.1/a", "has no numeric IPv4 address");
    refused("http://192.168.1.256/a", "has no numeric IPv4 address");
    refused("http://192.168.01.2/a", "has no numeric IPv4 address");
    refused("http://192.168.1.2:0/a", "has no port from 1 to 65535 after the colon");
    refused("http://192.168.1.2/a b", "holds a character that a path does not");
}
