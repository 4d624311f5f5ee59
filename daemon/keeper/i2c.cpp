#include "keeper/i2c.hpp"

#include <cerrno>
#include <cstring>
#include <linux/i2c-dev.h>
#include <linux/i2c.h>

namespace firstmow::keeper {

namespace {

// Registers of an MCP23017 with BANK=0, of port A; those of port B follow.
constexpr std::uint8_t kDirection = 0x00; // 1: input
constexpr std::uint8_t kPolarity = 0x02;  // 1: reads inverted
constexpr std::uint8_t kConfig1 = 0x05;   // IOCON if BANK=1; with BANK=0 it is port B's interrupts
constexpr std::uint8_t kPins = 0x12;      // reads pins, writes the latch
constexpr std::uint8_t kLatch = 0x14;

std::uint8_t at(std::uint8_t reg, unsigned port) {
    return static_cast<std::uint8_t>(reg + port);
}

std::uint8_t mask(unsigned line) {
    return static_cast<std::uint8_t>(1U << (line % 8));
}

std::uint8_t mixed(std::uint8_t base, std::uint8_t ours, std::uint8_t value) {
    return static_cast<std::uint8_t>((base & ~ours) | (value & ours));
}

std::uint64_t bit(std::size_t channel) {
    return std::uint64_t{1} << channel;
}

} // namespace

void I2cBus::settle(Kernel& kernel, const Share& share) {
    kernel_ = &kernel;
    share_ = share;
}

void I2cBus::release() {
    if (fd_ >= 0) kernel_->close_device(fd_);
    fd_ = -1;
    banked_ = 0;
}

int I2cBus::take() {
    if (fd_ >= 0) return 0;
    const char* path = nullptr;
    for (std::size_t i = 0; i < kMostChannels; ++i)
        if (share_.has(i)) path = share_.of(i).place;
    if (path == nullptr) return EINVAL;
    const int fd = kernel_->open_device(path);
    if (fd < 0) return fd == -ENODEV ? ENXIO : -fd;
    if (const int locked = kernel_->lock_device(fd); locked < 0) {
        kernel_->close_device(fd);
        return -locked;
    }
    // In hundredths of a second; an adapter that does not know these keeps its own.
    (void)kernel_->control(fd, I2C_TIMEOUT, reinterpret_cast<void*>(kTransfer_ms / 10));
    (void)kernel_->control(fd, I2C_RETRIES, reinterpret_cast<void*>(1));
    fd_ = fd;
    return 0;
}

int I2cBus::note(int error) {
    if (error != ENODEV && error != ENXIO && error != EIO && error != EREMOTEIO) return error;
    // Perhaps the adapter was pulled out, perhaps the chip had no power: both begin anew.
    release();
    return error == ENODEV ? ENXIO : error;
}

int I2cBus::choose(std::uint8_t address) {
    const int chosen =
        kernel_->control(fd_, I2C_SLAVE, reinterpret_cast<void*>(std::uintptr_t{address}));
    return chosen < 0 ? -chosen : 0;
}

int I2cBus::transfer(bool write, std::uint8_t command, std::uint32_t size, std::uint8_t* value) {
    i2c_smbus_data data{};
    if (value != nullptr) data.byte = *value;
    i2c_smbus_ioctl_data call{write ? std::uint8_t{I2C_SMBUS_WRITE} : std::uint8_t{I2C_SMBUS_READ},
                              command, size, &data};
    const int done = kernel_->control(fd_, I2C_SMBUS, &call);
    if (value != nullptr) *value = data.byte;
    // A bus that is busy for a moment is no device that another program has.
    if (done == -EBUSY) return EIO;
    return done < 0 ? -done : 0;
}

int I2cBus::write_byte(std::uint8_t reg, std::uint8_t value) {
    return transfer(true, reg, I2C_SMBUS_BYTE_DATA, &value);
}

int I2cBus::read_byte(std::uint8_t reg, std::uint8_t& value) {
    return transfer(false, reg, I2C_SMBUS_BYTE_DATA, &value);
}

int I2cBus::send(std::uint8_t value) {
    return transfer(true, value, I2C_SMBUS_BYTE, nullptr);
}

int I2cBus::receive(std::uint8_t& value) {
    return transfer(false, 0, I2C_SMBUS_BYTE, &value);
}

I2cBus::Port I2cBus::port_of(std::uint8_t address, unsigned number) const {
    Port port;
    const auto add = [&](unsigned line, bool active, bool active_low) {
        if (line / 8 != number) return;
        port.ours |= mask(line);
        if (active != active_low) port.high |= mask(line);
    };
    for (std::size_t i = 0; i < kMostChannels; ++i) {
        if (!share_.has(i) || share_.of(i).address != address) continue;
        const Setup& s = share_.of(i);
        const bool low = s.active_low != 0;
        const bool closing = (close_active_ & bit(i)) != 0;
        const bool one_line = s.pulse_ms != 0 && s.close_line == s.line;
        add(s.line, (active_ & bit(i)) != 0 || (one_line && closing), low);
        if (s.pulse_ms != 0 && !one_line) add(s.close_line, closing, low);
    }
    return port;
}

int I2cBus::drive_mcp23017(const Setup& setup, unsigned line) {
    const unsigned port = line / 8;
    const Port wanted = port_of(setup.address, port);
    std::uint8_t latch = 0;
    std::uint8_t direction = 0;
    std::uint8_t polarity = 0;
    if (const int error = read_byte(at(kLatch, port), latch); error != 0) return error;
    if (const int error = write_byte(at(kPins, port), mixed(latch, wanted.ours, wanted.high));
        error != 0)
        return error;
    if (const int error = read_byte(at(kPolarity, port), polarity); error != 0) return error;
    if ((polarity & wanted.ours) != 0)
        if (const int error = write_byte(at(kPolarity, port), mixed(polarity, wanted.ours, 0));
            error != 0)
            return error;
    if (const int error = read_byte(at(kDirection, port), direction); error != 0) return error;
    if ((direction & wanted.ours) == 0) return 0;
    return write_byte(at(kDirection, port), mixed(direction, wanted.ours, 0));
}

int I2cBus::drive_pcf8574(const Setup& setup, unsigned) {
    const Port wanted = port_of(setup.address, 0);
    return send(mixed(0xff, wanted.ours, wanted.high));
}

int I2cBus::look(const Setup& setup, unsigned line, bool& high) {
    std::uint8_t pins = 0;
    if (setup.driver == Driver::pcf8574) {
        if (const int error = receive(pins); error != 0) return error;
    } else {
        std::uint8_t direction = 0;
        if (const int error = read_byte(at(kDirection, line / 8), direction); error != 0)
            return error;
        // It lost its power meanwhile: whatever the pin reads, we do not drive it.
        if ((direction & mask(line)) != 0) return EREMOTEIO;
        if (const int error = read_byte(at(kPins, line / 8), pins); error != 0) return error;
    }
    high = (pins & mask(line)) != 0;
    return 0;
}

int I2cBus::drive(std::size_t channel, unsigned line, bool active) {
    const Setup& setup = share_.of(channel);
    if (const int error = choose(setup.address); error != 0) return error;
    if (setup.driver == Driver::mcp23017 && (banked_ & bit(channel)) == 0) {
        if (const int error = write_byte(kConfig1, 0); error != 0) return error;
        banked_ |= bit(channel);
    }
    const int error =
        setup.driver == Driver::mcp23017 ? drive_mcp23017(setup, line) : drive_pcf8574(setup, line);
    if (error != 0) return error;
    bool high = false;
    if (const int unread = look(setup, line, high); unread != 0) return unread;
    return high == (active != (setup.active_low != 0)) ? 0 : EREMOTEIO;
}

int I2cBus::pulse(std::size_t channel, bool open) {
    const Setup& setup = share_.of(channel);
    std::uint64_t& active = open ? active_ : close_active_;
    const unsigned line = open ? setup.line : setup.close_line;
    // Both coils without current first: a predecessor may have died within a pulse.
    for (const unsigned idle : {unsigned{setup.line}, unsigned{setup.close_line}})
        if (const int error = drive(channel, idle, false); error != 0) return error;
    active |= bit(channel);
    const int begun = drive(channel, line, true);
    if (begun == 0) kernel_->pause_ms(open ? setup.pulse_ms : setup.close_pulse_ms);
    active &= ~bit(channel);
    // A coil that stays under current burns: tried thrice.
    int ended = 0;
    for (int i = 0; i < 3; ++i)
        if (ended = drive(channel, line, false); ended == 0) break;
    return begun != 0 ? begun : ended;
}

int I2cBus::set(std::size_t channel, bool open) {
    if (const int error = take(); error != 0) return error;
    if (share_.of(channel).pulse_ms != 0) return note(pulse(channel, open));
    active_ = open ? active_ | bit(channel) : active_ & ~bit(channel);
    const int error = drive(channel, share_.of(channel).line, open);
    // What did not open shall not be opened by the next order for its neighbour.
    if (error != 0) active_ &= ~bit(channel);
    return note(error);
}

int I2cBus::read(std::size_t channel, bool& open) {
    const Setup& setup = share_.of(channel);
    if (setup.pulse_ms != 0) return ENOSYS; // its line does not tell what the valve is
    if (const int error = take(); error != 0) return error;
    if (const int error = choose(setup.address); error != 0) return note(error);
    bool high = false;
    if (const int error = look(setup, setup.line, high); error != 0) return note(error);
    open = high != (setup.active_low != 0);
    return 0;
}

} // namespace firstmow::keeper
