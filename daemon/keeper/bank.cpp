#include "keeper/bank.hpp"

#include "keeper/simulated.hpp"

#include <cerrno>
#include <cstring>

namespace firstmow::keeper {

bool Bank::add(const Setup& setup) {
    if (count_ >= kMostChannels) return false;
    if (std::memchr(setup.place, '\0', sizeof setup.place) == nullptr) return false;
    if (setup.driver != Driver::simulated && setup.driver != Driver::gpio) return false;
    if (setup.bias > Bias::pull_down) return false;
    Channel& channel = channels_[count_];
    channel.setup = setup;
    channel.error = setup.driver == Driver::gpio ? EBADF : 0; // until it is taken
    ++count_;
    return true;
}

void Bank::take_chip(std::size_t first) {
    std::array<GpioLine, kMostChannels> lines{};
    std::size_t count = 0;
    const char* const place = channels_[first].setup.place;
    const auto is_of_it = [&](const Channel& c) {
        return c.setup.driver == Driver::gpio && std::strcmp(c.setup.place, place) == 0;
    };
    for (std::size_t i = first; i < count_; ++i) {
        Channel& c = channels_[i];
        if (!is_of_it(c)) continue;
        c.chip = first;
        c.index = count;
        lines[count++] = {c.setup.line, c.setup.active_low != 0, c.setup.bias};
    }
    constexpr int kPause_ms = 50;
    int error = chips_[first].request(kernel_, place, lines.data(), count);
    for (int waited = 0; error == EBUSY && waited < kPatience_ms; waited += kPause_ms) {
        kernel_.pause_ms(kPause_ms);
        error = chips_[first].request(kernel_, place, lines.data(), count);
    }
    for (std::size_t i = first; i < count_; ++i)
        if (is_of_it(channels_[i])) channels_[i].error = error;
}

void Bank::take() {
    for (std::size_t i = 0; i < count_; ++i) {
        // Of each chip the first channel takes all of its lines.
        if (channels_[i].setup.driver == Driver::gpio && channels_[i].error == EBADF) take_chip(i);
    }
}

void Bank::release() {
    for (std::size_t i = 0; i < count_; ++i) {
        if (channels_[i].setup.driver != Driver::gpio) continue;
        chips_[i].release(kernel_);
        channels_[i].error = EBADF;
    }
}

int Bank::set(std::size_t channel, bool open) {
    if (channel >= count_) return EINVAL;
    const Channel& c = channels_[channel];
    if (c.error != 0) return c.error;
    if (c.setup.driver == Driver::gpio) return chips_[c.chip].set(kernel_, c.index, open);
    return write_valve_line(c.setup.place, c.setup.number, open);
}

int Bank::read(std::size_t channel, bool& open) {
    if (channel >= count_) return EINVAL;
    const Channel& c = channels_[channel];
    if (c.setup.driver != Driver::gpio || c.error != 0) return ENOSYS;
    return chips_[c.chip].read(kernel_, c.index, open);
}

} // namespace firstmow::keeper
