// Relay boards that speak Modbus RTU on a serial port (RS-485 adapters too): coils are written with
// function 5 and read back with function 1. Frames and CRC by "MODBUS over serial line,
// specification and implementation guide V1.02", 2.5.1 and 6.2.2 (Modbus Organization).
//
// A board that answers that it does not know function 1 is taken for one that cannot be read back.
// Worst case: kTries exchanges of answer_ms() for the order and as many for the look at it; 1.7 s
// at 9600 baud.
#pragma once

#include "keeper/bus.hpp"

namespace firstmow::keeper {

// The frame's check, low byte first on the wire.
std::uint16_t modbus_crc(const std::uint8_t* bytes, std::size_t count);

class ModbusBus : public Bus {
public:
    static constexpr int kTries = 2;

    // `share` has the channels of one port.
    void settle(Kernel& kernel, const Share& share);
    void release();

    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;

    // How long an answer is waited for.
    static int answer_ms(std::uint32_t baud);

private:
    struct Frame {
        std::array<std::uint8_t, 8> bytes{};
        std::size_t size = 0;
    };

    int take();
    int set_up_line(const Setup& setup);
    // A request of 6 bytes before its check; the answer has `expected` bytes, or is an exception.
    int exchange(const std::array<std::uint8_t, 6>& request, std::size_t expected, Frame& answer);
    int exchange_once(const Frame& request, std::size_t expected, Frame& answer);
    int write_all(const Frame& frame, std::int64_t until_ms);
    int read_frame(std::size_t expected, Frame& frame, std::int64_t until_ms);
    int note(int error);

    Kernel* kernel_ = nullptr;
    Share share_;
    int fd_ = -1;
    std::uint32_t baud_ = 9600;
    std::uint64_t unreadable_ = 0; // by channel
};

} // namespace firstmow::keeper
