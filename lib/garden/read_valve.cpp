// The table of an output: a zone's valve, the master valve, the pump's relay.
#include "garden/sections.hpp"

#include "garden/http_target.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

namespace firstmow::garden {

namespace {

constexpr Field kFields[] = {
    {"driver", true, "driver = \"simulated\""},
    {"channel", true, "channel = 1"},
    {"file", false, "file = \"valves.log\""},
    {"chip", false, "chip = \"pinctrl-bcm2711\""},
    {"bus", false, "bus = \"/dev/i2c-1\""},
    {"address", false, "address = 0x20"},
    {"line", false, "line = 17"},
    {"active_low", false, "active_low = true"},
    {"bias", false, "bias = \"pull_down\""},
    {"pulse", false, "pulse = \"0.06 s\""},
    {"close_pulse", false, "close_pulse = \"0.06 s\""},
    {"close_line", false, "close_line = 18"},
    {"port", false, "port = \"/dev/ttyUSB0\""},
    {"baud", false, "baud = 9600"},
    {"parity", false, "parity = \"none\""},
    {"stop_bits", false, "stop_bits = 1"},
    {"unit", false, "unit = 1"},
    {"coil", false, "coil = 0"},
    {"open", false, "open = { method = \"POST\", url = \"http://192.168.1.40/valve/1/open\" }"},
    {"close", false, "close = { method = \"POST\", url = \"http://192.168.1.40/valve/1/close\" }"},
    {"read", false,
     "read = { url = \"http://192.168.1.40/valve/1\", when_open = \"open\", when_closed = "
     "\"closed\" }"},
    {"header", false, "header = \"Authorization: Bearer ...\""},
};

struct ReadValve {
    Valve& valve;
    ValveSpots spots;
};

// Which driver takes which keys, beside driver and channel; those that it needs come first.
struct Driver {
    std::string_view name;
    std::size_t needed;
    std::array<std::string_view, 9> keys;
};
constexpr Driver kDrivers[] = {
    {"simulated", 0, {"file"}},
    {"gpio", 2, {"chip", "line", "active_low", "bias", "pulse", "close_pulse", "close_line"}},
    {"mcp23017", 3, {"bus", "address", "line", "active_low", "pulse", "close_pulse", "close_line"}},
    {"pcf8574", 3, {"bus", "address", "line", "active_low", "pulse", "close_pulse", "close_line"}},
    {"modbus", 3, {"port", "unit", "coil", "baud", "parity", "stop_bits"}},
    {"http", 2, {"open", "close", "read", "header"}},
};
constexpr std::string_view kNames[] = {"simulated", "gpio",   "mcp23017",
                                       "pcf8574",   "modbus", "http"};
static_assert(std::size(kNames) == std::size(kDrivers));

constexpr std::string_view kBiases[] = {"as_is", "disabled", "pull_up", "pull_down"};
constexpr std::string_view kParities[] = {"none", "even", "odd"};
constexpr std::string_view kMethods[] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
constexpr int kBauds[] = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200};
constexpr std::size_t kLongestBody = 300;
constexpr std::size_t kLongestHeader = 300;
constexpr std::size_t kLongestSign = 120;
constexpr std::size_t kLongestDevice = 100;

bool takes(const Driver& driver, std::string_view key) {
    return std::find(driver.keys.begin(), driver.keys.end(), key) != driver.keys.end();
}

// A key of one driver beside the name of another would be passed over in silence otherwise.
void refuse_foreign(const Fields& fields, const Driver& driver) {
    for (const Field& field : kFields) {
        if (field.key == "driver" || field.key == "channel") continue;
        if (takes(driver, field.key) || fields.find(field.key) == nullptr) continue;
        std::string others;
        for (const Driver& other : kDrivers)
            if (takes(other, field.key))
                others += (others.empty() ? "\"" : ", \"") + std::string(other.name) + "\"";
        const bool one = others.find(',') == std::string::npos;
        fields.refuse(field.key, (one ? "is for driver " : "is for drivers ") + others +
                                     (one ? "; that driver" : "; one of those") +
                                     ", or leaving the key out, would be right");
    }
}

void refuse_lacking(const Node& table, const Fields& fields, const Driver& driver,
                    const std::string& called, Errors& errors) {
    for (std::size_t i = 0; i < driver.needed; ++i) {
        const std::string_view key = driver.keys.at(i);
        if (fields.find(key) != nullptr) continue;
        for (const Field& field : kFields)
            if (field.key == key)
                errors.add(table.spot, called + " lacks \"" + std::string(key) +
                                           "\", which driver \"" + std::string(driver.name) +
                                           "\" needs; write, for example, " +
                                           std::string(field.example));
    }
}

std::optional<std::string> read_device(const Fields& fields, std::string_view key) {
    auto path = fields.text(key, kLongestDevice);
    if (path && path->front() != '/') {
        fields.refuse(key, in_quotes(*path) + " is no path; one from the root would be right");
        return std::nullopt;
    }
    return path;
}

std::optional<int> read_pulse(const Fields& fields, std::string_view key) {
    // A latching coil wants some tens of milliseconds; held for long it burns (common practice, no
    // source).
    const auto pulse_s = fields.quantity(key, Dimension::duration_s, {0.01, 0.5});
    if (!pulse_s) return std::nullopt;
    return static_cast<int>(std::lround(*pulse_s * 1000));
}

// `place` is where the lines are, for what no other valve may take; empty when it is not known.
void read_lines(const Fields& fields, const std::string& place, int last_line, ReadValve& read) {
    Valve& valve = read.valve;
    const auto take = [&](std::string_view key, int line) {
        if (!place.empty())
            read.spots.outlets.push_back(
                {"line " + std::to_string(line) + place, "line", fields.find(key)->spot});
    };
    if (const auto line = fields.integer("line", 0, last_line)) {
        valve.line = *line;
        take("line", *line);
    }
    valve.active_low = fields.truth("active_low").value_or(false);
    valve.pulse_ms = read_pulse(fields, "pulse").value_or(0);
    valve.close_pulse_ms = read_pulse(fields, "close_pulse").value_or(valve.pulse_ms);
    valve.close_line = fields.integer("close_line", 0, last_line);
    if (valve.close_line) take("close_line", *valve.close_line);
    for (const char* const key : {"close_pulse", "close_line"})
        if (fields.find(key) != nullptr && fields.find("pulse") == nullptr)
            fields.refuse(key, "is for a latching valve; pulse = \"0.06 s\" beside it would be "
                               "right");
    if (valve.latches() && fields.find("close_line") == nullptr &&
        valve.close_pulse_ms == valve.pulse_ms)
        fields.refuse("pulse", "opens and closes alike; close_line = 18 (a line of its own for the "
                               "closing pulse) or a close_pulse of another length would be right");
}

void read_gpio(const Fields& fields, ReadValve& read) {
    constexpr int kLastLine = 1023;
    const auto chip = fields.text("chip");
    read.valve.chip = chip.value_or("");
    read_lines(fields, chip ? " of chip " + in_quotes(*chip) : "", kLastLine, read);
    if (const auto bias = fields.word("bias", kBiases)) read.valve.bias = static_cast<Bias>(*bias);
}

void read_expander(const Fields& fields, bool of_sixteen, ReadValve& read) {
    Valve& valve = read.valve;
    const auto bus = read_device(fields, "bus");
    // Seven bits without the reserved ones at either end.
    const auto address = fields.integer("address", 0x08, 0x77);
    valve.bus = bus.value_or("");
    valve.address = address.value_or(0);
    std::string place;
    if (bus && address)
        place = " of the expander at address " + std::to_string(*address) + " on " + *bus;
    read_lines(fields, place, of_sixteen ? 15 : 7, read);
}

void read_modbus(const Fields& fields, ReadValve& read) {
    Valve& valve = read.valve;
    const auto port = read_device(fields, "port");
    const auto unit = fields.integer("unit", 1, 247);
    const auto coil = fields.integer("coil", 0, 65535);
    valve.port = port.value_or("");
    valve.unit = unit.value_or(1);
    valve.coil = coil.value_or(0);
    if (port && unit && coil)
        read.spots.outlets.push_back(
            {"coil " + std::to_string(*coil) + " of unit " + std::to_string(*unit) + " on " + *port,
             "coil", fields.find("coil")->spot});
    if (const auto baud = fields.integer("baud", 1200, 115200)) {
        valve.baud = *baud;
        if (std::find(std::begin(kBauds), std::end(kBauds), *baud) == std::end(kBauds))
            fields.refuse("baud", "is " + std::to_string(*baud) +
                                      "; 1200, 2400, 4800, 9600, 19200, 38400, 57600 or 115200 "
                                      "would be right");
    }
    if (const auto parity = fields.word("parity", kParities))
        valve.parity = static_cast<Parity>(*parity);
    valve.stop_bits = fields.integer("stop_bits", 1, 2).value_or(1);
}

std::optional<HttpTarget> read_target(const Fields& fields) {
    const auto url = fields.text("url", kLongestPath);
    if (!url) return std::nullopt;
    const auto target = parse_http_target(*url);
    if (!target)
        fields.refuse("url", in_quotes(*url) + " " + target.error().message +
                                 "; http://ADDRESS:PORT/PATH with an address such as 192.168.1.40 "
                                 "would be right: closing a valve must not hang on a name server");
    if (!target) return std::nullopt;
    return *target;
}

HttpOrder read_order(const Fields& of, std::string_view key, const std::string& called,
                     Errors& errors) {
    constexpr Field kOrderFields[] = {
        {"method", false, "method = \"POST\""},
        {"url", true, "url = \"http://192.168.1.40/valve/1/open\""},
        {"body", false, "body = '{\"state\": \"open\"}'"},
    };
    HttpOrder order;
    const Node* const table = of.table(key);
    if (table == nullptr) return order;
    const Fields fields(*table, std::string(key) + " of " + called, kOrderFields, errors);
    order.method = kMethods[fields.word("method", kMethods).value_or(0)];
    order.target = read_target(fields).value_or(HttpTarget{});
    order.body = fields.text("body", kLongestBody).value_or("");
    return order;
}

std::optional<HttpReadBack> read_back(const Fields& of, const std::string& called, Errors& errors) {
    constexpr Field kReadFields[] = {
        {"url", true, "url = \"http://192.168.1.40/valve/1\""},
        {"when_open", true, "when_open = '\"state\": \"open\"'"},
        {"when_closed", true, "when_closed = '\"state\": \"closed\"'"},
    };
    const Node* const table = of.table("read");
    if (table == nullptr) return std::nullopt;
    const Fields fields(*table, "read of " + called, kReadFields, errors);
    HttpReadBack read;
    read.target = read_target(fields).value_or(HttpTarget{});
    read.when_open = fields.text("when_open", kLongestSign).value_or("");
    read.when_closed = fields.text("when_closed", kLongestSign).value_or("");
    if (!read.when_open.empty() && (read.when_open.find(read.when_closed) != std::string::npos ||
                                    read.when_closed.find(read.when_open) != std::string::npos))
        fields.refuse("when_closed", "and when_open are parts of each other; two texts of which "
                                     "an answer holds one would be right");
    return read;
}

void read_http(const Fields& fields, const std::string& called, ReadValve& read, Errors& errors) {
    Valve& valve = read.valve;
    valve.open = read_order(fields, "open", called, errors);
    valve.close = read_order(fields, "close", called, errors);
    valve.read = read_back(fields, called, errors);
    valve.header = fields.text("header", kLongestHeader);
    if (valve.header && valve.header->find(": ") == std::string::npos)
        fields.refuse("header", in_quotes(*valve.header) +
                                    " is no header line; \"Name: value\" would be right");
    const auto same = [](const HttpOrder& a, const HttpOrder& b) {
        return a.method == b.method && to_text(a.target) == to_text(b.target) && a.body == b.body;
    };
    if (fields.find("open") == nullptr || fields.find("close") == nullptr) return;
    if (valve.open.target.path.empty() || valve.close.target.path.empty()) return;
    if (same(valve.open, valve.close))
        fields.refuse("close", "asks the same as open; a request that closes would be right");
    read.spots.outlets.push_back({"open request " + valve.open.method + " " +
                                      to_text(valve.open.target) +
                                      (valve.open.body.empty() ? "" : " " + valve.open.body),
                                  "request", fields.find("open")->spot});
}

} // namespace

ValveSpots read_valve(const Node& table, const std::string& called, Valve& valve, Errors& errors) {
    const Fields fields(table, called, kFields, errors);
    ReadValve read{valve, {}};
    if (const auto channel = fields.integer("channel", 1, 999)) {
        valve.channel = *channel;
        read.spots.channel = fields.find("channel")->spot;
    }
    const auto which = fields.word("driver", kNames);
    if (!which) return read.spots;
    const Driver& driver = kDrivers[*which];
    valve.driver = driver.name;
    refuse_foreign(fields, driver);
    refuse_lacking(table, fields, driver, called, errors);
    if (driver.name == "simulated") valve.file = fields.text("file", kLongestPath);
    if (driver.name == "gpio") read_gpio(fields, read);
    if (driver.name == "mcp23017") read_expander(fields, true, read);
    if (driver.name == "pcf8574") read_expander(fields, false, read);
    if (driver.name == "modbus") read_modbus(fields, read);
    if (driver.name == "http") read_http(fields, called, read, errors);
    return read.spots;
}

} // namespace firstmow::garden
