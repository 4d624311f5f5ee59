// The table of an output: a zone's valve, the master valve, the pump's relay.
#include "garden/sections.hpp"

#include "garden/wording.hpp"

#include <span>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kValveFields[] = {
    {"driver", true, "driver = \"simulated\""},
    {"channel", true, "channel = 1"},
    {"file", false, "file = \"valves.log\""},
    {"chip", false, "chip = \"pinctrl-bcm2711\""},
    {"line", false, "line = 17"},
    {"active_low", false, "active_low = true"},
    {"bias", false, "bias = \"pull_down\""},
};
constexpr std::string_view kDrivers[] = {"simulated", "gpio"};
constexpr std::string_view kBiases[] = {"as_is", "disabled", "pull_up", "pull_down"};
constexpr int kLastLine = 1023;

// A key of one driver beside the name of another would be passed over in silence otherwise.
void refuse_foreign(const Fields& fields, std::string_view driver,
                    std::span<const std::string_view> keys) {
    for (const std::string_view key : keys)
        if (fields.find(key) != nullptr)
            fields.refuse(key, "is for driver \"" + std::string(driver) +
                                   "\"; that driver, or leaving the key out, would be right");
}

void read_gpio(const Node& table, const Fields& fields, const std::string& called, Valve& valve,
               ValveSpots& spots, Errors& errors) {
    for (const Field& field : kValveFields)
        if ((field.key == "chip" || field.key == "line") && fields.find(field.key) == nullptr)
            errors.add(table.spot, called + " lacks \"" + std::string(field.key) +
                                       "\", which driver \"gpio\" needs; write, for example, " +
                                       std::string(field.example));
    const auto chip = fields.text("chip");
    const auto line = fields.integer("line", 0, kLastLine);
    valve.chip = chip.value_or("");
    valve.line = line.value_or(0);
    if (chip && line) spots.line = fields.find("line")->spot;
    valve.active_low = fields.truth("active_low").value_or(false);
    if (const auto bias = fields.word("bias", kBiases)) valve.bias = static_cast<Bias>(*bias);
}

} // namespace

ValveSpots read_valve(const Node& table, const std::string& called, Valve& valve, Errors& errors) {
    constexpr std::string_view kOfGpio[] = {"chip", "line", "active_low", "bias"};
    constexpr std::string_view kOfSimulated[] = {"file"};
    const Fields fields(table, called, kValveFields, errors);
    ValveSpots spots;
    if (const auto channel = fields.integer("channel", 1, 999)) {
        valve.channel = *channel;
        spots.channel = fields.find("channel")->spot;
    }
    const auto driver = fields.word("driver", kDrivers);
    if (!driver) return spots;
    valve.driver = kDrivers[*driver];
    if (valve.driver == "gpio") {
        refuse_foreign(fields, "simulated", kOfSimulated);
        read_gpio(table, fields, called, valve, spots, errors);
        return spots;
    }
    refuse_foreign(fields, "gpio", kOfGpio);
    valve.file = fields.text("file", kLongestPath);
    return spots;
}

} // namespace firstmow::garden
