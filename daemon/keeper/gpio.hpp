// Lines of a GPIO chip, through the kernel's character device (uAPI v2, <linux/gpio.h>, kernel
// 5.10 and later): the same on every release, where libgpiod 1 and 2 differ.
//
// SAFE-18 All lines of a chip are requested at once, as outputs, with "closed" as their first
//         value: no line is ever an output with an unknown value.
// A chip is found by its label, its name or its path; by label is best, numbers move between
// kernels. What becomes of a line when its holder dies depends on the chip's driver: some keep
// driving it. So nobody may rely on that; a new request with closed values is what closes it.
#pragma once

#include "keeper/kernel.hpp"
#include "keeper/protocol.hpp"

#include <array>
#include <cstddef>

namespace firstmow::keeper {

struct GpioLine {
    std::uint32_t offset = 0;
    bool active_low = false;
    Bias bias = Bias::as_is;
};

class GpioChip {
public:
    // 0, or an errno: ENXIO no such chip, ENOTUNIQ two chips with this label, ERANGE no such line
    // on it, EBUSY a line is held by another program.
    int request(Kernel& kernel, const char* place, const GpioLine* lines, std::size_t count);
    void release(Kernel& kernel);
    bool held() const { return fd_ >= 0; }

    // `index` counts the requested lines. Reads back what it has set: EREMOTEIO if it differs.
    int set(Kernel& kernel, std::size_t index, bool active);
    int read(Kernel& kernel, std::size_t index, bool& active);

private:
    int fd_ = -1;
};

} // namespace firstmow::keeper
