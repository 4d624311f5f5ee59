// Outputs that switch on by themselves while a board starts.
#include "garden/boot.hpp"

#include <doctest/doctest.h>

using namespace firstmow::garden;

namespace {

std::size_t cautions(const Valve& valve) {
    Garden garden;
    Zone zone;
    zone.id = "bed";
    zone.valve = valve;
    garden.zones.push_back(zone);
    return boot_cautions(garden).size();
}

Valve gpio(const char* chip, int line, bool active_low) {
    Valve valve;
    valve.driver = "gpio";
    valve.chip = chip;
    valve.line = line;
    valve.active_low = active_low;
    return valve;
}

} // namespace

TEST_CASE("a pin whose own pull is the relay's on is warned of") {
    // BCM2835 ARM Peripherals, table 6-31: GPIO 0 to 8 are pulled up at reset, 9 to 27 down.
    CHECK_EQ(cautions(gpio("pinctrl-bcm2835", 17, true)), 1);
    CHECK_EQ(cautions(gpio("pinctrl-bcm2711", 17, false)), 0);
    CHECK_EQ(cautions(gpio("pinctrl-bcm2711", 5, true)), 0);
    CHECK_EQ(cautions(gpio("pinctrl-bcm2711", 5, false)), 1);
    CHECK_EQ(cautions(gpio("pinctrl-bcm2711", 14, false)), 1);
    CHECK_EQ(cautions(gpio("some-other-chip", 17, true)), 0); // nothing is known
}

TEST_CASE("an expander that is high from power-on, and a valve that no power cut closes") {
    Valve valve;
    valve.driver = "pcf8574";
    CHECK_EQ(cautions(valve), 1);
    valve.active_low = true;
    CHECK_EQ(cautions(valve), 0);
    valve.pulse_ms = 60;
    CHECK_EQ(cautions(valve), 1);
}
