#include "valves/driver.hpp"

#include "garden/http_target.hpp"
#include "host/files.hpp"
#include "keeper/bank.hpp"
#include "valves/holders.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <memory>

namespace firstmow::valves {

namespace {

// Longer than any device takes for an order that waits behind another one.
constexpr int kSlowest_ms = 10'000;

std::uint16_t small(int value) {
    return static_cast<std::uint16_t>(value);
}

// Every byte of a request, ready to send.
Result<keeper::Request> request_of(const std::string& method, const garden::HttpTarget& target,
                                   const std::string& body,
                                   const std::optional<std::string>& header) {
    std::string text = method + " " + target.path +
                       " HTTP/1.1\r\nHost: " + garden::host_of(target) +
                       "\r\nConnection: close\r\nAccept: */*\r\n";
    if (header) text += *header + "\r\n";
    if (!body.empty() && (body.front() == '{' || body.front() == '['))
        text += "Content-Type: application/json\r\n";
    else if (!body.empty())
        text += "Content-Type: application/x-www-form-urlencoded\r\n";
    if (method != "GET") text += "Content-Length: " + std::to_string(body.size()) + "\r\n";
    text += "\r\n";
    if (method != "GET") text += body;
    keeper::Request request;
    if (text.size() > keeper::kLongestRequest)
        return Error{garden::to_text(target) + ": the request is too long; up to " +
                     std::to_string(keeper::kLongestRequest) + " bytes would be right"};
    std::copy(target.address.begin(), target.address.end(), request.address);
    request.port = small(target.port);
    request.length = static_cast<std::uint16_t>(text.size());
    std::memcpy(request.text, text.data(), text.size());
    return request;
}

Status describe_http(const garden::Valve& valve, keeper::Setup& setup) {
    setup.driver = keeper::Driver::http;
    const auto open =
        request_of(valve.open.method, valve.open.target, valve.open.body, valve.header);
    if (!open) return open.error();
    const auto close =
        request_of(valve.close.method, valve.close.target, valve.close.body, valve.header);
    if (!close) return close.error();
    setup.open = *open;
    setup.close = *close;
    if (!valve.read) return Done{};
    const auto read = request_of("GET", valve.read->target, "", valve.header);
    if (!read) return read.error();
    setup.read = *read;
    // Shorter than the room for it: the garden file's reader sees to that.
    std::strncpy(setup.when_open, valve.read->when_open.c_str(), keeper::kLongestSign - 1);
    std::strncpy(setup.when_closed, valve.read->when_closed.c_str(), keeper::kLongestSign - 1);
    return Done{};
}

void describe_lines(const garden::Valve& valve, keeper::Setup& setup) {
    setup.line = small(valve.line);
    setup.active_low = valve.active_low ? 1 : 0;
    setup.pulse_ms = small(valve.pulse_ms);
    setup.close_pulse_ms = small(valve.close_pulse_ms);
    setup.close_line = small(valve.close_line.value_or(valve.line));
}

void describe_modbus(const garden::Valve& valve, keeper::Setup& setup) {
    setup.driver = keeper::Driver::modbus;
    setup.address = static_cast<std::uint8_t>(valve.unit);
    setup.line = small(valve.coil);
    setup.baud = static_cast<std::uint32_t>(valve.baud);
    setup.parity = static_cast<keeper::Parity>(valve.parity);
    setup.stop_bits = static_cast<std::uint8_t>(valve.stop_bits);
}

std::string gpio_words(const std::string& where, int error) {
    switch (error) {
    case ENXIO:
        return where + ": no chip of this label, name or path is here";
    case ENOTUNIQ:
        return where + ": two chips have this label; the path of one would be right";
    case ERANGE:
        return where + ": a line of this chip is beyond its last one";
    case EBUSY:
        return where + ": the chip's lines are held by " + holders_of_gpio_lines();
    case EACCES:
    case EPERM:
        return where + ": " + std::strerror(error) + "; a user in group gpio would be right";
    case ENODEV:
        return where + ": the chip has gone away";
    default:
        return where + ": " + std::strerror(error);
    }
}

std::string expander_words(const std::string& where, const garden::Valve& valve, int error) {
    switch (error) {
    case ENXIO:
    case EIO:
        return where + " does not answer: wiring, power or address";
    case ENOENT:
        return where + ": there is no " + valve.bus + "; is I2C switched on?";
    case EREMOTEIO:
        return where + " does not answer, or does not read back as it was set";
    case EBUSY:
        return where + ": another program has the bus or the chip; where a driver of the kernel "
                       "has the chip, driver \"gpio\" would be right";
    case EACCES:
    case EPERM:
        return where + ": " + std::strerror(error) + "; a user in group i2c would be right";
    case ETIMEDOUT:
        return where + ": the bus hangs";
    default:
        return where + ": " + std::strerror(error);
    }
}

std::string modbus_words(const std::string& where, int error) {
    switch (error) {
    case ETIMEDOUT:
        return where + " does not answer: wiring, power, unit or baud";
    case EBADMSG:
        return where + " answers in pieces: wiring, baud or parity";
    case EPROTO:
        return where + " refuses: it has no such coil, or cannot do it";
    case EBUSY:
        return where + ": another program has the port";
    case ENXIO:
    case ENOENT:
        return where + ": there is no such port";
    case EACCES:
    case EPERM:
        return where + ": " + std::strerror(error) + "; a user in group dialout would be right";
    default:
        return where + ": " + std::strerror(error);
    }
}

std::string http_words(const std::string& where, int error) {
    switch (error) {
    case ETIMEDOUT:
    case EHOSTDOWN:
        return where + " does not answer in time";
    case EPROTO:
        return where + " answers with an error";
    case EBADMSG:
        return where + " answers what cannot be understood";
    default:
        return where + ": " + std::strerror(error);
    }
}

} // namespace

Result<keeper::Setup> setup_of(const garden::Valve& valve, const std::string& garden_path) {
    keeper::Setup setup;
    setup.order.ask = keeper::Ask::channel;
    setup.number = valve.channel;
    std::string place;
    if (valve.driver == "simulated") {
        setup.driver = keeper::Driver::simulated;
        if (valve.file) place = host::beside(garden_path, *valve.file);
    } else if (valve.driver == "gpio") {
        setup.driver = keeper::Driver::gpio;
        describe_lines(valve, setup);
        setup.bias = static_cast<keeper::Bias>(valve.bias);
        place = valve.chip;
    } else if (valve.driver == "mcp23017" || valve.driver == "pcf8574") {
        setup.driver =
            valve.driver == "pcf8574" ? keeper::Driver::pcf8574 : keeper::Driver::mcp23017;
        describe_lines(valve, setup);
        setup.address = static_cast<std::uint8_t>(valve.address);
        place = valve.bus;
    } else if (valve.driver == "modbus") {
        describe_modbus(valve, setup);
        place = valve.port;
    } else if (valve.driver == "http") {
        if (const Status described = describe_http(valve, setup); !described)
            return described.error();
    } else {
        return Error{"there is no valve driver '" + valve.driver +
                     "'; \"gpio\", \"mcp23017\", \"pcf8574\", \"modbus\", \"http\" or "
                     "\"simulated\" would be right"};
    }
    if (place.size() >= keeper::kLongestPlace)
        return Error{place + ": the name is too long; up to " +
                     std::to_string(keeper::kLongestPlace - 1) + " bytes would be right"};
    std::memcpy(setup.place, place.data(), place.size());
    return setup;
}

std::string place_of(const garden::Valve& valve, const std::string& garden_path) {
    if (valve.driver == "gpio")
        return "line " + std::to_string(valve.line) + " of GPIO chip " + valve.chip;
    if (valve.driver == "mcp23017" || valve.driver == "pcf8574")
        return "line " + std::to_string(valve.line) + " of the " + valve.driver + " at address " +
               std::to_string(valve.address) + " on " + valve.bus;
    if (valve.driver == "modbus")
        return "coil " + std::to_string(valve.coil) + " of unit " + std::to_string(valve.unit) +
               " on " + valve.port;
    if (valve.driver == "http") return "the relay at " + garden::host_of(valve.close.target);
    return "simulated channel " + std::to_string(valve.channel) +
           (valve.file ? " in " + host::beside(garden_path, *valve.file) : "");
}

std::string words_of(const garden::Valve& valve, const std::string& garden_path, int error) {
    const std::string where = place_of(valve, garden_path);
    const bool expander = valve.driver == "mcp23017" || valve.driver == "pcf8574";
    if (expander) return expander_words(where, valve, error);
    if (error == EREMOTEIO) return where + " does not read back as it was set";
    if (error == ENOBUFS) return where + ": there are more devices than the valve keeper can tend";
    if (valve.driver == "gpio") return gpio_words(where, error);
    if (valve.driver == "modbus") return modbus_words(where, error);
    if (valve.driver == "http") return http_words(where, error);
    return (valve.file ? host::beside(garden_path, *valve.file) + ": " : "") + std::strerror(error);
}

std::vector<Status> close_without_daemon(const std::vector<garden::Valve>& valves,
                                         const std::string& garden_path) {
    auto bank = std::make_unique<keeper::Bank>(keeper::real_kernel());
    std::vector<Status> answers(valves.size(), Status(Done{}));
    std::vector<std::size_t> taken; // the valve of each channel
    for (std::size_t i = 0; i < valves.size(); ++i) {
        const Result<keeper::Setup> setup = setup_of(valves[i], garden_path);
        if (!setup)
            answers[i] = setup.error();
        else if (bank->add(*setup))
            taken.push_back(i);
        else
            answers[i] = Error{"there are too many valves"};
    }
    bank->take();
    const auto settle = [&](std::size_t channel, int error) {
        const std::size_t i = taken.at(channel);
        answers[i] = error == 0 ? Status(Done{}) : Error{words_of(valves[i], garden_path, error)};
    };
    std::size_t under_way = 0;
    for (std::size_t channel = 0; channel < taken.size(); ++channel) {
        const int error = bank->set(channel, false);
        settle(channel, error == EINPROGRESS ? ETIMEDOUT : error);
        if (error == EINPROGRESS) ++under_way;
    }
    // All of them at once, each with a device of its own; none is waited for for ever.
    const std::int64_t until_ms = keeper::steady_ms() + kSlowest_ms;
    while (under_way > 0 && keeper::steady_ms() < until_ms) {
        std::size_t channel = 0;
        int error = 0;
        if (bank->settled(channel, error)) {
            settle(channel, error);
            --under_way;
        } else {
            keeper::real_kernel().pause_ms(10);
        }
    }
    // A thread that hangs in its device keeps what it uses.
    if (!bank->release()) (void)bank.release();
    return answers;
}

Status close_without_daemon(const garden::Valve& valve, const std::string& garden_path) {
    return close_without_daemon(std::vector{valve}, garden_path).front();
}

} // namespace firstmow::valves
