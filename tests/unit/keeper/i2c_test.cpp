// The expanders' driver against played chips that heed latch, direction and power.
#include "keeper/bank.hpp"

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <doctest/doctest.h>
#include <linux/i2c-dev.h>
#include <linux/i2c.h>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace firstmow::keeper {

namespace {

constexpr int kFd = 7;

// An MCP23017 with BANK=0 at 0x20 and a PCF8574 at 0x38, on one bus.
class Chips : public Kernel {
public:
    Chips() { power_on(); }
    void power_on() {
        reg_.fill(0);
        reg_[0] = reg_[1] = 0xff;
        pcf_ = 0xff;
    }
    int open_device(const char* path) override {
        const std::lock_guard lock(mutex_);
        ++opened;
        return std::strcmp(path, "/dev/i2c-1") == 0 && !gone ? kFd : -ENOENT;
    }
    int lock_device(int) override { return busy ? -EBUSY : 0; }
    void close_device(int) override {}
    void pause_ms(int ms) override { pauses.push_back(ms); }
    int control(int, unsigned long request, void* argument) override {
        const std::lock_guard lock(mutex_);
        if (gone) return -EIO;
        if (request == I2C_TIMEOUT || request == I2C_RETRIES) return 0;
        if (request == I2C_SLAVE) {
            address_ = static_cast<unsigned>(reinterpret_cast<std::uintptr_t>(argument));
            return 0;
        }
        if (request != I2C_SMBUS) return -EINVAL;
        auto& call = *static_cast<i2c_smbus_ioctl_data*>(argument);
        const int done = address_ == 0x20 ? mcp(call) : address_ == 0x38 ? pcf(call) : -ENXIO;
        note_levels();
        return done;
    }
    // What drives pin `line`: 0, 1, or -1 for nothing.
    int driven(unsigned line) const {
        const unsigned port = line / 8;
        if ((reg_[port] >> (line % 8) & 1) != 0) return -1;
        return reg_[0x14 + port] >> (line % 8) & 1;
    }
    int pcf_level(unsigned line) const { return pcf_ >> line & 1; }
    std::uint8_t reg(unsigned at) const { return reg_.at(at); }
    void set_reg(unsigned at, std::uint8_t value) { reg_.at(at) = value; }

    bool gone = false;
    bool busy = false;
    int stuck_line = -1; // of the MCP23017: reads 0 whatever is driven
    int opened = 0;
    std::vector<int> pauses;
    std::vector<std::string> mcp_history; // of pin 3 and 9, at each change

private:
    int mcp(i2c_smbus_ioctl_data& call) {
        const std::uint8_t at = call.command;
        if (call.size != I2C_SMBUS_BYTE_DATA || at > 0x15) return -EIO;
        if (call.read_write == I2C_SMBUS_WRITE) {
            reg_[at == 0x12 || at == 0x13 ? at + 2U : at] = call.data->byte;
            return 0;
        }
        call.data->byte = reg_[at];
        if (at == 0x12 || at == 0x13) {
            std::uint8_t pins = 0;
            for (unsigned i = 0; i < 8; ++i) {
                const unsigned line = (at - 0x12U) * 8 + i;
                if (driven(line) == 1 && stuck_line != static_cast<int>(line))
                    pins = static_cast<std::uint8_t>(pins | 1U << i);
            }
            call.data->byte = static_cast<std::uint8_t>(pins ^ reg_[at - 0x10U]);
        }
        return 0;
    }
    int pcf(i2c_smbus_ioctl_data& call) {
        if (call.size != I2C_SMBUS_BYTE) return -EIO;
        if (call.read_write == I2C_SMBUS_WRITE)
            pcf_ = call.command;
        else
            call.data->byte = pcf_;
        return 0;
    }
    void note_levels() {
        const std::string now = std::to_string(driven(3)) + " " + std::to_string(driven(9));
        if (mcp_history.empty() || mcp_history.back() != now) mcp_history.push_back(now);
    }

    std::mutex mutex_;
    std::array<std::uint8_t, 0x16> reg_{};
    std::uint8_t pcf_ = 0xff;
    unsigned address_ = 0;
};

Setup on(Driver driver, std::uint8_t address, std::uint16_t line, bool active_low = false) {
    Setup setup;
    setup.driver = driver;
    setup.address = address;
    setup.line = line;
    setup.active_low = active_low ? 1 : 0;
    std::snprintf(setup.place, sizeof setup.place, "/dev/i2c-1");
    return setup;
}

Setup latching(Setup setup, std::uint16_t close_line, std::uint16_t ms, std::uint16_t close_ms) {
    setup.close_line = close_line;
    setup.pulse_ms = ms;
    setup.close_pulse_ms = close_ms;
    return setup;
}

struct Board {
    explicit Board(const std::vector<Setup>& setups) : bank(std::make_unique<Bank>(chips)) {
        for (const Setup& setup : setups)
            REQUIRE(bank->add(setup));
        bank->take();
    }
    // What became of it.
    int set(std::size_t channel, bool open) {
        const int asked = bank->set(channel, open);
        if (asked != EINPROGRESS) return asked;
        std::size_t which = 99;
        int error = 0;
        while (!bank->settled(which, error))
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
        CHECK(which == channel);
        return error;
    }
    Chips chips;
    std::unique_ptr<Bank> bank;
};

} // namespace

TEST_CASE("MCP23017: the latch is right before a pin becomes an output, in both senses") {
    Board board({on(Driver::mcp23017, 0x20, 3), on(Driver::mcp23017, 0x20, 9, true)});
    board.chips.set_reg(0x14, 0xff); // as somebody left the latches
    board.chips.set_reg(0x15, 0x00);
    CHECK(board.set(0, false) == 0);
    CHECK(board.set(1, false) == 0);
    // Never an output that opens: low for the one, high for the other.
    CHECK(board.chips.mcp_history == std::vector<std::string>{"-1 -1", "0 -1", "0 1"});
    CHECK(board.set(0, true) == 0);
    CHECK(board.set(1, true) == 0);
    CHECK(board.chips.driven(3) == 1);
    CHECK(board.chips.driven(9) == 0);
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.driven(3) == 0);
    CHECK(board.chips.driven(9) == 0); // the neighbour stays
    // Pins of others are left alone.
    CHECK(board.chips.reg(0x00) == 0xf7);
    CHECK(board.chips.reg(0x01) == 0xfd);
    CHECK((board.chips.reg(0x14) | 0x08) == 0xff);
}

TEST_CASE("MCP23017: all of our lines on a port are closed by the first order") {
    Board board({on(Driver::mcp23017, 0x20, 3), on(Driver::mcp23017, 0x20, 4, true)});
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.driven(3) == 0);
    CHECK(board.chips.driven(4) == 1);
}

TEST_CASE("MCP23017: a chip that lost its power is noticed and set up again") {
    Board board({on(Driver::mcp23017, 0x20, 3)});
    CHECK(board.set(0, false) == 0);
    CHECK(board.set(0, true) == 0);
    board.chips.power_on();
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.driven(3) == 0);
    board.chips.power_on();
    CHECK(board.set(0, true) == 0);
    CHECK(board.chips.driven(3) == 1);
}

TEST_CASE(
    "MCP23017: a pin that does not follow is told, with the registers as they were expected") {
    Board board({on(Driver::mcp23017, 0x20, 3), on(Driver::mcp23017, 0x20, 5)});
    board.chips.set_reg(0x02, 0x08); // reads inverted
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.reg(0x02) == 0);
    board.chips.stuck_line = 3;
    CHECK(board.set(0, true) == EREMOTEIO);
    // The neighbour's order does not open it after all.
    CHECK(board.set(1, true) == 0);
    CHECK(board.chips.driven(3) == 0);
}

TEST_CASE("PCF8574: pins of others stay high, both senses, read back") {
    Board board({on(Driver::pcf8574, 0x38, 0, true), on(Driver::pcf8574, 0x38, 1)});
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.pcf_level(0) == 1);
    CHECK(board.chips.pcf_level(1) == 0);
    CHECK(board.set(0, true) == 0);
    CHECK(board.set(1, true) == 0);
    CHECK(board.chips.pcf_level(0) == 0);
    CHECK(board.chips.pcf_level(1) == 1);
    for (unsigned line = 2; line < 8; ++line)
        CHECK(board.chips.pcf_level(line) == 1);
}

TEST_CASE("an I2C bus that is not there, or another's, and one that comes back") {
    Board board({on(Driver::mcp23017, 0x20, 3), on(Driver::pcf8574, 0x21, 3)});
    board.chips.gone = true;
    CHECK(board.set(0, false) == ENOENT);
    board.chips.gone = false;
    board.chips.busy = true;
    CHECK(board.set(0, false) == EBUSY);
    board.chips.busy = false;
    CHECK(board.set(0, false) == 0);
    CHECK(board.set(1, false) == ENXIO); // no chip there
    board.chips.gone = true;
    CHECK(board.set(0, true) != 0);
    board.chips.gone = false;
    CHECK(board.set(0, true) == 0);
    CHECK(board.chips.driven(3) == 1);
}

TEST_CASE("a latching valve on an expander: pulses, and no current between them") {
    Board board({latching(on(Driver::mcp23017, 0x20, 3), 9, 60, 80),
                 latching(on(Driver::mcp23017, 0x20, 12), 12, 50, 200)});
    CHECK(board.set(0, false) == 0);
    CHECK(board.set(0, true) == 0);
    CHECK(board.set(0, false) == 0);
    CHECK(board.chips.mcp_history == std::vector<std::string>{"-1 -1", "0 -1", "0 0", "0 1", "0 0",
                                                              "1 0", "0 0", "0 1", "0 0"});
    CHECK(board.chips.pauses == std::vector<int>{80, 60, 80});
    CHECK(board.set(1, true) == 0);
    CHECK(board.set(1, false) == 0);
    CHECK(board.chips.pauses == std::vector<int>{80, 60, 80, 50, 200});
    CHECK(board.chips.driven(12) == 0);
}

} // namespace firstmow::keeper
