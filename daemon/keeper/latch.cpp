#include "keeper/latch.hpp"

#include <cerrno>

namespace firstmow::keeper {

void LatchBus::settle(Kernel& kernel, const Share& share, GpioChip& chip, const AllLines& lines,
                      int error) {
    kernel_ = &kernel;
    share_ = share;
    chip_ = &chip;
    lines_ = &lines;
    error_ = error;
}

int LatchBus::set(std::size_t channel, bool open) {
    if (error_ != 0) return error_;
    const Setup& setup = share_.of(channel);
    const std::size_t line = open ? (*lines_)[channel].open : (*lines_)[channel].close;
    const int begun = chip_->set(*kernel_, line, true);
    if (begun == 0) kernel_->pause_ms(open ? setup.pulse_ms : setup.close_pulse_ms);
    // A coil that stays under current burns: tried thrice.
    int ended = 0;
    for (int i = 0; i < 3; ++i)
        if (ended = chip_->set(*kernel_, line, false); ended == 0) break;
    return begun != 0 ? begun : ended;
}

int LatchBus::read(std::size_t, bool&) {
    return ENOSYS;
}

} // namespace firstmow::keeper
