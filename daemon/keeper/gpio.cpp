#include "keeper/gpio.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <linux/gpio.h>

namespace firstmow::keeper {

namespace {

constexpr int kMostChips = 256;

std::uint64_t bit(std::size_t index) {
    return std::uint64_t{1} << index;
}

std::uint64_t flags_of(const GpioLine& line) {
    std::uint64_t flags = GPIO_V2_LINE_FLAG_OUTPUT;
    if (line.active_low) flags |= GPIO_V2_LINE_FLAG_ACTIVE_LOW;
    switch (line.bias) {
    case Bias::as_is:
        break;
    case Bias::disabled:
        flags |= GPIO_V2_LINE_FLAG_BIAS_DISABLED;
        break;
    case Bias::pull_up:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_UP;
        break;
    case Bias::pull_down:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN;
        break;
    }
    return flags;
}

int info_of(Kernel& kernel, int fd, gpiochip_info& info) {
    std::memset(&info, 0, sizeof info);
    const int got = kernel.control(fd, GPIO_GET_CHIPINFO_IOCTL, &info);
    // The kernel ends them itself; a promise is cheap to keep.
    info.name[sizeof info.name - 1] = '\0';
    info.label[sizeof info.label - 1] = '\0';
    return got < 0 ? got : 0;
}

// An open chip, or a negative errno.
int find_chip(Kernel& kernel, const char* place, gpiochip_info& info) {
    if (place[0] == '/') {
        const int fd = kernel.open_device(place);
        if (fd < 0) return fd == -ENOENT ? -ENXIO : fd;
        const int asked = info_of(kernel, fd, info);
        if (asked == 0) return fd;
        kernel.close_device(fd);
        return asked;
    }
    int found = -ENXIO;
    for (int number = 0; number < kMostChips; ++number) {
        char path[32];
        std::snprintf(path, sizeof path, "/dev/gpiochip%d", number);
        const int fd = kernel.open_device(path);
        if (fd < 0) {
            // Perhaps this is the one.
            if (fd != -ENOENT && found == -ENXIO) found = fd;
            continue;
        }
        gpiochip_info candidate;
        const bool fits =
            info_of(kernel, fd, candidate) == 0 &&
            (std::strcmp(candidate.label, place) == 0 || std::strcmp(candidate.name, place) == 0);
        if (!fits) {
            kernel.close_device(fd);
            continue;
        }
        if (found >= 0) {
            kernel.close_device(found);
            kernel.close_device(fd);
            return -ENOTUNIQ;
        }
        found = fd;
        info = candidate;
    }
    return found;
}

// An attribute for each set of flags that differs from the first line's, and the values. Eight
// sets are possible (two levels, four biases), so they fit.
void describe(gpio_v2_line_request& request, const GpioLine* lines, std::size_t count) {
    request.config.flags = flags_of(lines[0]);
    std::uint32_t used = 0;
    for (std::size_t i = 0; i < count; ++i) {
        request.offsets[i] = lines[i].offset;
        const std::uint64_t flags = flags_of(lines[i]);
        if (flags == request.config.flags) continue;
        std::uint32_t at = 0;
        while (at < used && request.config.attrs[at].attr.flags != flags)
            ++at;
        gpio_v2_line_config_attribute& attribute = request.config.attrs[at];
        attribute.attr.id = GPIO_V2_LINE_ATTR_ID_FLAGS;
        attribute.attr.flags = flags;
        attribute.mask |= bit(i);
        if (at == used) ++used;
    }
    gpio_v2_line_config_attribute& values = request.config.attrs[used++];
    values.attr.id = GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES;
    values.attr.values = 0; // closed: "active" is what opens, also where active is low
    values.mask = count == kMostChannels ? ~std::uint64_t{0} : bit(count) - 1;
    request.config.num_attrs = used;
}

} // namespace

int GpioChip::request(Kernel& kernel, const char* place, const GpioLine* lines, std::size_t count) {
    static_assert(kMostChannels == GPIO_V2_LINES_MAX);
    if (count == 0 || count > kMostChannels) return EINVAL;
    gpiochip_info info;
    const int chip = find_chip(kernel, place, info);
    if (chip < 0) return -chip;
    int error = 0;
    for (std::size_t i = 0; i < count; ++i)
        if (lines[i].offset >= info.lines) error = ERANGE;
    if (error == 0) {
        gpio_v2_line_request request;
        std::memset(&request, 0, sizeof request); // the kernel refuses padding that is not zero
        std::snprintf(request.consumer, sizeof request.consumer, "firstmow");
        request.num_lines = static_cast<std::uint32_t>(count);
        describe(request, lines, count);
        const int asked = kernel.control(chip, GPIO_V2_GET_LINE_IOCTL, &request);
        if (asked < 0)
            error = -asked;
        else
            fd_ = request.fd;
    }
    kernel.close_device(chip);
    return error;
}

void GpioChip::release(Kernel& kernel) {
    if (fd_ >= 0) kernel.close_device(fd_);
    fd_ = -1;
}

int GpioChip::set(Kernel& kernel, std::size_t index, bool active) {
    gpio_v2_line_values values{};
    values.mask = bit(index);
    values.bits = active ? bit(index) : 0;
    const int asked = kernel.control(fd_, GPIO_V2_LINE_SET_VALUES_IOCTL, &values);
    if (asked < 0) return -asked;
    bool is_active = false;
    if (const int error = read(kernel, index, is_active); error != 0) return error;
    return is_active == active ? 0 : EREMOTEIO;
}

int GpioChip::read(Kernel& kernel, std::size_t index, bool& active) {
    gpio_v2_line_values values{};
    values.mask = bit(index);
    const int asked = kernel.control(fd_, GPIO_V2_LINE_GET_VALUES_IOCTL, &values);
    if (asked < 0) return -asked;
    active = (values.bits & bit(index)) != 0;
    return 0;
}

} // namespace firstmow::keeper
