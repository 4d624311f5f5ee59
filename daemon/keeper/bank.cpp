#include "keeper/bank.hpp"

#include "keeper/simulated.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>

namespace firstmow::keeper {

namespace {

// Longer than any bus takes for what it is at.
constexpr int kStop_ms = 6000;

template <std::size_t kSize>
bool ends(const char (&text)[kSize]) {
    return std::memchr(text, '\0', kSize) != nullptr;
}

bool is_gpio(const Setup& setup) {
    return setup.driver == Driver::gpio;
}

bool takes_its_time(const Setup& setup) {
    switch (setup.driver) {
    case Driver::simulated:
        return false;
    case Driver::gpio:
        return setup.pulse_ms != 0;
    case Driver::mcp23017:
    case Driver::pcf8574:
    case Driver::modbus:
    case Driver::http:
        return true;
    }
    return false;
}

bool makes_sense(const Setup& setup) {
    constexpr std::uint16_t kLongestPulse_ms = 500;
    if (!ends(setup.place) || !ends(setup.when_open) || !ends(setup.when_closed)) return false;
    if (setup.driver > Driver::http || setup.bias > Bias::pull_down) return false;
    if (setup.parity > Parity::odd) return false;
    if (setup.pulse_ms > kLongestPulse_ms || setup.close_pulse_ms > kLongestPulse_ms) return false;
    for (const Request* request : {&setup.open, &setup.close, &setup.read})
        if (request->length > kLongestRequest) return false;
    const bool reads = setup.read.length != 0;
    return !reads || (setup.when_open[0] != '\0' && setup.when_closed[0] != '\0');
}

} // namespace

bool Bank::add(const Setup& setup) {
    if (count_ >= kMostChannels || !makes_sense(setup)) return false;
    setups_[count_] = setup;
    channels_[count_].error = is_gpio(setup) || takes_its_time(setup) ? EBADF : 0; // until taken
    channels_[count_].slow = takes_its_time(setup);
    ++count_;
    return true;
}

void Bank::take_chip(std::size_t first) {
    std::array<GpioLine, kMostChannels> lines{};
    std::size_t count = 0;
    bool too_many = false;
    const char* const place = setups_[first].place;
    const auto is_of_it = [&](const Setup& s) {
        return is_gpio(s) && std::strcmp(s.place, place) == 0;
    };
    const auto add_line = [&](const Setup& s, std::uint16_t line) {
        too_many = too_many || count == lines.size();
        if (too_many) return std::size_t{0};
        lines[count] = {line, s.active_low != 0, s.bias};
        return count++;
    };
    for (std::size_t i = first; i < count_; ++i) {
        const Setup& s = setups_[i];
        if (!is_of_it(s)) continue;
        channels_[i].chip = first;
        channels_[i].index = add_line(s, s.line);
        latch_lines_[i] = {channels_[i].index, channels_[i].index};
        if (s.pulse_ms != 0 && s.close_line != s.line)
            latch_lines_[i].close = add_line(s, s.close_line);
    }
    constexpr int kPause_ms = 50;
    int error = too_many ? ENOBUFS : chips_[first].request(kernel_, place, lines.data(), count);
    for (int waited = 0; error == EBUSY && waited < kPatience_ms; waited += kPause_ms) {
        kernel_.pause_ms(kPause_ms);
        error = chips_[first].request(kernel_, place, lines.data(), count);
    }
    for (std::size_t i = first; i < count_; ++i)
        if (is_of_it(setups_[i])) channels_[i].error = error;
}

bool Bank::same_bus(const Setup& a, const Setup& b) const {
    if (!takes_its_time(a) || !takes_its_time(b)) return false;
    const bool expanders = (a.driver == Driver::mcp23017 || a.driver == Driver::pcf8574) &&
                           (b.driver == Driver::mcp23017 || b.driver == Driver::pcf8574);
    if (a.driver != b.driver && !expanders) return false;
    if (a.driver == Driver::http)
        return std::memcmp(a.close.address, b.close.address, sizeof a.close.address) == 0;
    return std::strcmp(a.place, b.place) == 0;
}

void Bank::begin_bus(std::size_t first, std::size_t number) {
    Share share{&setups_, 0};
    for (std::size_t i = first; i < count_; ++i)
        if (same_bus(setups_[first], setups_[i])) share.channels |= std::uint64_t{1} << i;
    Bus* bus = nullptr;
    if (number < kMostBuses) {
        switch (setups_[first].driver) {
        case Driver::gpio: {
            Channel& c = channels_[first];
            latches_[number].settle(kernel_, share, chips_[c.chip], latch_lines_, c.error);
            bus = &latches_[number];
            break;
        }
        case Driver::mcp23017:
        case Driver::pcf8574:
            expanders_[number].settle(kernel_, share);
            bus = &expanders_[number];
            break;
        case Driver::modbus:
            ports_[number].settle(kernel_, share);
            bus = &ports_[number];
            break;
        case Driver::http:
            relays_[number].settle(kernel_, share);
            bus = &relays_[number];
            break;
        case Driver::simulated:
            break;
        }
    }
    int error = bus == nullptr ? ENOBUFS : crew_.begin(*bus, share.channels);
    // A chip that was not to be had is known at once.
    if (error == 0 && is_gpio(setups_[first])) error = channels_[first].error;
    for (std::size_t i = first; i < count_; ++i)
        if (share.has(i)) channels_[i].error = error;
}

void Bank::begin_buses() {
    std::size_t number = 0;
    for (std::size_t i = 0; i < count_; ++i) {
        const auto is_known = [&](std::size_t before) {
            return same_bus(setups_[before], setups_[i]);
        };
        bool known = false;
        for (std::size_t before = 0; before < i; ++before)
            known = known || is_known(before);
        if (takes_its_time(setups_[i]) && !known) begin_bus(i, number++);
    }
}

void Bank::take() {
    for (std::size_t i = 0; i < count_; ++i) {
        // Of each chip the first channel takes all of its lines.
        if (is_gpio(setups_[i]) && channels_[i].error == EBADF) take_chip(i);
    }
    begin_buses();
}

bool Bank::release() {
    if (!crew_.stop(kStop_ms)) return false;
    for (I2cBus& bus : expanders_)
        bus.release();
    for (ModbusBus& bus : ports_)
        bus.release();
    for (std::size_t i = 0; i < count_; ++i) {
        if (is_gpio(setups_[i])) chips_[i].release(kernel_);
        if (is_gpio(setups_[i]) || channels_[i].slow) channels_[i].error = EBADF;
    }
    return true;
}

int Bank::set(std::size_t channel, bool open) {
    if (channel >= count_) return EINVAL;
    const Channel& c = channels_[channel];
    if (c.error != 0) return c.error;
    if (c.slow) {
        crew_.order(channel, open);
        return EINPROGRESS;
    }
    const Setup& setup = setups_[channel];
    if (is_gpio(setup)) return chips_[c.chip].set(kernel_, c.index, open);
    return write_valve_line(setup.place, setup.number, open);
}

int Bank::read(std::size_t channel, bool& open) {
    if (channel >= count_) return EINVAL;
    const Channel& c = channels_[channel];
    if (c.error != 0) return ENOSYS;
    if (c.slow) return crew_.seen(channel, open);
    if (!is_gpio(setups_[channel])) return ENOSYS;
    return chips_[c.chip].read(kernel_, c.index, open);
}

bool Bank::settled(std::size_t& channel, int& error) {
    return crew_.settled(channel, error);
}

} // namespace firstmow::keeper
