// The keeper's channels, each with its driver. Everything is set aside beforehand: no allocation.
#pragma once

#include "keeper/gpio.hpp"
#include "keeper/lines.hpp"
#include "keeper/protocol.hpp"

#include <array>

namespace firstmow::keeper {

class Bank : public Lines {
public:
    explicit Bank(Kernel& kernel) : kernel_(kernel) {}
    ~Bank() override { release(); }
    Bank(const Bank&) = delete;
    Bank& operator=(const Bank&) = delete;

    // The next channel. False: there are too many, or the message makes no sense.
    bool add(const Setup& setup);
    // Gives the devices back; the kernel then does with the lines as it likes.
    void release();

    std::size_t count() const override { return count_; }
    // A line that another program holds is asked for again for kPatience_ms: a predecessor may be
    // about to end.
    void take() override;
    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;

    static constexpr int kPatience_ms = 1500;

private:
    struct Channel {
        Setup setup;
        std::size_t chip = 0;  // gpio: in chips_
        std::size_t index = 0; // gpio: among the lines of the chip
        int error = 0;         // why it could not be taken
    };

    void take_chip(std::size_t first);

    Kernel& kernel_;
    std::array<Channel, kMostChannels> channels_{};
    std::array<GpioChip, kMostChannels> chips_{}; // under the number of its first channel
    std::size_t count_ = 0;
};

} // namespace firstmow::keeper
