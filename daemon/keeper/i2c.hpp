// Expanders on an I2C bus, through the kernel's /dev/i2c-N: MCP23017 (16 lines) and PCF8574 (8),
// by SMBus byte transfers, which every adapter speaks.
//
// MCP23017 (Microchip DS20001952, table 3-3): the latch is written before the direction, so that no
// pin is ever an output with an unknown level; pins of others stay as they are. Registers are those
// of BANK=0, which is made sure of without a glitch. Each order writes both anew, so that a chip
// that lost its power is set up again by the next order, and reads back pin and direction.
// PCF8574 (NXP, section 8): has no direction; a pin that is set high is a weak pull-up, and all are
// high from power-on: with active_low a valve stays closed by itself. Pins of others are left high.
//
// Worst case: every transfer is bounded by the adapter's time-out, set to kTransfer_ms where its
// driver heeds that, and at most kTransfers are made for an order; the first that fails ends it, so
// that a dead bus costs one. On a bus of 100 kHz that works an order takes some 4 ms, and the
// length of its pulse.
#pragma once

#include "keeper/bus.hpp"

namespace firstmow::keeper {

class I2cBus : public Bus {
public:
    static constexpr int kTransfer_ms = 100;
    static constexpr int kTransfers = 32;

    I2cBus() = default;
    // `share` has the channels of one bus path.
    void settle(Kernel& kernel, const Share& share);
    void release();

    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;

private:
    int take();
    // An error lets go of the bus when it has gone away.
    int note(int error);
    int choose(std::uint8_t address);
    int transfer(bool write, std::uint8_t command, std::uint32_t size, std::uint8_t* value);
    int write_byte(std::uint8_t reg, std::uint8_t value);
    int read_byte(std::uint8_t reg, std::uint8_t& value);
    int send(std::uint8_t value);
    int receive(std::uint8_t& value);

    // A line of a chip is brought to this level by the valve's sense ("active").
    int drive(std::size_t channel, unsigned line, bool active);
    int drive_mcp23017(const Setup& setup, unsigned line);
    int drive_pcf8574(const Setup& setup, unsigned line);
    int look(const Setup& setup, unsigned line, bool& high);
    int pulse(std::size_t channel, bool open);
    // The levels of our lines on a port of a chip, and which those are.
    struct Port {
        std::uint8_t ours = 0;
        std::uint8_t high = 0;
    };
    Port port_of(std::uint8_t address, unsigned number) const;

    Kernel* kernel_ = nullptr;
    Share share_;
    int fd_ = -1;
    std::uint64_t active_ = 0;       // by channel: its line (of a latching one: the opening line)
    std::uint64_t close_active_ = 0; // by channel: the closing line of a latching one
    std::uint64_t banked_ = 0;       // by channel: the chip's registers are where they should be
};

} // namespace firstmow::keeper
