// Latching valves on lines of a GPIO chip: a pulse opens, another closes, and between them no
// current flows. What the valve is cannot be read back, and no death of a program, no power cut
// closes it: only the closing pulse of whoever comes next does.
//
// Worst case: the length of the pulse, at most half a second; valves of one chip go one after the
// other, which also spares their supply.
#pragma once

#include "keeper/bus.hpp"
#include "keeper/gpio.hpp"

namespace firstmow::keeper {

class LatchBus : public Bus {
public:
    // Where the lines of each channel are among those requested of the chip.
    struct Lines {
        std::size_t open = 0;
        std::size_t close = 0;
    };
    using AllLines = std::array<Lines, kMostChannels>;

    // `chip` has been requested, or not: then every order fails with `error`.
    void settle(Kernel& kernel, const Share& share, GpioChip& chip, const AllLines& lines,
                int error);

    int set(std::size_t channel, bool open) override;
    int read(std::size_t, bool&) override;

private:
    Kernel* kernel_ = nullptr;
    Share share_;
    GpioChip* chip_ = nullptr;
    const AllLines* lines_ = nullptr;
    int error_ = 0;
};

} // namespace firstmow::keeper
