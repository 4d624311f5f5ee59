#include "garden/boot.hpp"

#include <optional>
#include <string_view>

namespace firstmow::garden {

namespace {

// The pull of a pin from reset on: BCM2835 ARM Peripherals, table 6-31; the later chips of the
// family kept it. True: up.
std::optional<bool> pulled_up(std::string_view chip, int line) {
    if (chip.substr(0, 14) != "pinctrl-bcm283" && chip.substr(0, 14) != "pinctrl-bcm271")
        return std::nullopt;
    if (line >= 0 && line <= 8) return true;
    if (line >= 9 && line <= 27) return false;
    return std::nullopt;
}

std::string caution(const Valve& valve) {
    const std::string line = "line " + std::to_string(valve.line);
    if (valve.driver == "gpio") {
        const bool family = pulled_up(valve.chip, 0).has_value();
        if (family && (valve.line == 2 || valve.line == 3 || valve.line == 14 || valve.line == 15))
            return line + " has another duty while the board starts (I2C or console); another line "
                          "would be right";
        // On when high and pulled up, or on when low and pulled down.
        const auto up = pulled_up(valve.chip, valve.line);
        if (up && *up != valve.active_low)
            return line + " is pulled " + (*up ? "up" : "down") +
                   " from power-on, which switches the relay on until firstmow runs; a line of the "
                   "other kind (0 to 8 pull up, 9 to 27 down) or a resistor of about 10 kOhm "
                   "towards off would be right";
    }
    if (valve.driver == "pcf8574" && !valve.active_low)
        return line + " of a pcf8574 is high from power-on, which switches the relay on until "
                      "firstmow runs; a relay board with active_low = true would be right";
    return {};
}

} // namespace

std::vector<std::string> boot_cautions(const Garden& garden) {
    std::vector<std::string> cautions;
    for (const Output& output : outputs(garden)) {
        if (const std::string words = caution(output.valve); !words.empty())
            cautions.push_back(output.name + ": " + words);
        if (output.valve.latches())
            cautions.push_back(output.name +
                               ": a latching valve stays open when the power fails; a "
                               "normally closed master valve before it would be "
                               "right");
    }
    return cautions;
}

} // namespace firstmow::garden
