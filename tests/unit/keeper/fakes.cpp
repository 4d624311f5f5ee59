#include "fakes.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <linux/gpio.h>
#include <tuple>

namespace firstmow::keeper {

int FakeLines::set(std::size_t channel, bool open) {
    const int error = open ? open_error.at(channel) : close_error.at(channel);
    did.push_back(std::to_string(channel) + (open ? " open" : " closed"));
    if (slow.at(channel)) {
        wanted_.at(channel) = open;
        return EINPROGRESS;
    }
    if (error == 0) level.at(channel) = open;
    return error;
}

void FakeLines::finish(std::size_t channel, int error) {
    if (error == 0) level.at(channel) = wanted_.at(channel);
    finished_.emplace_back(channel, error);
}

bool FakeLines::settled(std::size_t& channel, int& error) {
    if (finished_.empty()) return false;
    std::tie(channel, error) = finished_.front();
    finished_.erase(finished_.begin());
    return true;
}

int FakeLines::read(std::size_t channel, bool& open) {
    open = level.at(channel);
    return read_error;
}

bool FakeLines::all_closed() const {
    return std::none_of(level.begin(), level.end(), [](bool open) { return open; });
}

int FakeKernel::open_device(const char* path) {
    unsigned number = 0;
    if (std::sscanf(path, "/dev/gpiochip%u", &number) != 1 || number >= chips.size())
        return -ENOENT;
    if (chips[number].open_error != 0) return -chips[number].open_error;
    chip_fds_.emplace_back(next_fd_, number);
    open_fds.push_back(next_fd_);
    return next_fd_++;
}

int FakeKernel::lock_device(int) {
    return 0;
}

void FakeKernel::close_device(int fd) {
    std::erase(open_fds, fd);
    std::erase_if(chip_fds_, [&](const auto& held) { return held.first == fd; });
    std::erase_if(line_fds_, [&](const auto& held) { return held.first == fd; });
}

void FakeKernel::pause_ms(int ms) {
    waited_ms += ms;
}

int FakeKernel::get_lines(std::size_t chip, void* argument) {
    auto& asked = *static_cast<gpio_v2_line_request*>(argument);
    if (waited_ms < busy_until_ms) return -EBUSY;
    Request granted;
    granted.chip = chip;
    granted.consumer = asked.consumer;
    for (unsigned i = 0; i < asked.num_lines; ++i) {
        std::uint64_t flags = asked.config.flags;
        bool active = false;
        for (unsigned a = 0; a < asked.config.num_attrs; ++a) {
            const auto& attribute = asked.config.attrs[a];
            if ((attribute.mask >> i & 1) == 0) continue;
            if (attribute.attr.id == GPIO_V2_LINE_ATTR_ID_FLAGS) flags = attribute.attr.flags;
            if (attribute.attr.id == GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES)
                active = (attribute.attr.values >> i & 1) != 0;
        }
        granted.offsets.push_back(asked.offsets[i]);
        granted.flags.push_back(flags);
        granted.active.push_back(active);
        high.at(chip).at(asked.offsets[i]) =
            active != ((flags & GPIO_V2_LINE_FLAG_ACTIVE_LOW) != 0);
    }
    asked.fd = next_fd_;
    line_fds_.emplace_back(next_fd_, requests.size());
    open_fds.push_back(next_fd_++);
    requests.push_back(std::move(granted));
    return 0;
}

int FakeKernel::values(const Request& request, void* argument, bool set) {
    auto& v = *static_cast<gpio_v2_line_values*>(argument);
    std::uint64_t bits = 0;
    for (std::size_t i = 0; i < request.offsets.size(); ++i) {
        if ((v.mask >> i & 1) == 0) continue;
        const bool low = (request.flags[i] & GPIO_V2_LINE_FLAG_ACTIVE_LOW) != 0;
        bool& level = high.at(request.chip).at(request.offsets[i]);
        if (set && static_cast<int>(request.offsets[i]) != stuck_line)
            level = ((v.bits >> i & 1) != 0) != low;
        if (level != low) bits |= std::uint64_t{1} << i;
    }
    if (!set) v.bits = bits;
    return 0;
}

int FakeKernel::control(int fd, unsigned long request, void* argument) {
    if (gone) return -ENODEV;
    for (const auto& [held, chip] : chip_fds_) {
        if (held != fd) continue;
        if (request == GPIO_GET_CHIPINFO_IOCTL) {
            auto& info = *static_cast<gpiochip_info*>(argument);
            std::snprintf(info.name, sizeof info.name, "%s", chips[chip].name.c_str());
            std::snprintf(info.label, sizeof info.label, "%s", chips[chip].label.c_str());
            info.lines = chips[chip].lines;
            return 0;
        }
        return request == GPIO_V2_GET_LINE_IOCTL ? get_lines(chip, argument) : -EINVAL;
    }
    for (const auto& [held, number] : line_fds_) {
        if (held != fd) continue;
        if (request == GPIO_V2_LINE_SET_VALUES_IOCTL)
            return values(requests[number], argument, true);
        if (request == GPIO_V2_LINE_GET_VALUES_IOCTL)
            return values(requests[number], argument, false);
    }
    return -EBADF;
}

} // namespace firstmow::keeper
