// The keeper's channels, each with its driver. Everything is set aside beforehand: nothing is
// allocated after take(), which also begins the threads of the devices that take their time.
#pragma once

#include "keeper/crew.hpp"
#include "keeper/gpio.hpp"
#include "keeper/http.hpp"
#include "keeper/i2c.hpp"
#include "keeper/latch.hpp"
#include "keeper/lines.hpp"
#include "keeper/modbus.hpp"
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
    // Gives the devices back; the kernel then does with the lines as it likes. False: a thread
    // hangs in its device, and the bank must be left where it is.
    bool release();

    std::size_t count() const override { return count_; }
    // A line that another program holds is asked for again for kPatience_ms: a predecessor may be
    // about to end.
    void take() override;
    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;
    bool settled(std::size_t& channel, int& error) override;

    // Readable when something has settled, or -1.
    int wake_fd() const { return crew_.wake_fd(); }

    static constexpr int kPatience_ms = 1500;

private:
    struct Channel {
        std::size_t chip = 0;  // gpio: in chips_
        std::size_t index = 0; // gpio: among the lines of the chip
        int error = 0;         // why it could not be taken
        bool slow = false;     // the crew's
    };

    void take_chip(std::size_t first);
    void begin_buses();
    void begin_bus(std::size_t first, std::size_t number);
    bool same_bus(const Setup& a, const Setup& b) const;

    Kernel& kernel_;
    Crew crew_;
    std::array<Setup, kMostChannels> setups_{};
    std::array<Channel, kMostChannels> channels_{};
    std::array<GpioChip, kMostChannels> chips_{}; // under the number of its first channel
    LatchBus::AllLines latch_lines_{};
    std::array<LatchBus, kMostBuses> latches_;
    std::array<I2cBus, kMostBuses> expanders_;
    std::array<ModbusBus, kMostBuses> ports_;
    std::array<HttpBus, kMostBuses> relays_;
    std::size_t count_ = 0;
};

} // namespace firstmow::keeper
