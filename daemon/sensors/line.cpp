#include "sensors/line.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <linux/gpio.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace firstmow::sensors {

namespace {

constexpr int kMostChips = 64;

class ChipLine : public Line {
public:
    explicit ChipLine(int fd) : fd_(fd) {}
    ~ChipLine() override { ::close(fd_); }
    ChipLine(const ChipLine&) = delete;
    ChipLine& operator=(const ChipLine&) = delete;

    int descriptor() const override { return fd_; }

    Result<std::vector<Edge>> edges() override {
        std::vector<Edge> found;
        gpio_v2_line_event events[32];
        for (;;) {
            const ssize_t got = ::read(fd_, events, sizeof events);
            if (got < 0 && errno == EINTR) continue;
            if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) return found;
            if (got <= 0) return Error{std::strerror(got < 0 ? errno : ENODEV)};
            for (std::size_t i = 0; i < static_cast<std::size_t>(got) / sizeof events[0]; ++i)
                found.push_back(
                    {events[i].timestamp_ns, events[i].id == GPIO_V2_LINE_EVENT_RISING_EDGE});
        }
    }

    Result<bool> active() override {
        gpio_v2_line_values values{};
        values.mask = 1;
        if (::ioctl(fd_, GPIO_V2_LINE_GET_VALUES_IOCTL, &values) < 0)
            return Error{std::strerror(errno)};
        return (values.bits & 1) != 0;
    }

private:
    int fd_;
};

bool is_chip(int fd, const std::string& name) {
    gpiochip_info info{};
    return ::ioctl(fd, GPIO_GET_CHIPINFO_IOCTL, &info) == 0 &&
           (name == info.label || name == info.name);
}

int open_chip(const std::string& name) {
    if (name.starts_with('/')) return ::open(name.c_str(), O_RDWR | O_CLOEXEC);
    for (int number = 0; number < kMostChips; ++number) {
        char path[32];
        std::snprintf(path, sizeof path, "/dev/gpiochip%d", number);
        const int fd = ::open(path, O_RDWR | O_CLOEXEC);
        if (fd < 0) continue;
        if (is_chip(fd, name)) return fd;
        ::close(fd);
    }
    errno = ENXIO;
    return -1;
}

std::uint64_t flags_of(const garden::Sensor& sensor) {
    std::uint64_t flags =
        GPIO_V2_LINE_FLAG_INPUT | GPIO_V2_LINE_FLAG_EDGE_RISING | GPIO_V2_LINE_FLAG_EDGE_FALLING;
    if (sensor.active_low) flags |= GPIO_V2_LINE_FLAG_ACTIVE_LOW;
    switch (sensor.bias) {
    case garden::Bias::as_is:
        break;
    case garden::Bias::disabled:
        flags |= GPIO_V2_LINE_FLAG_BIAS_DISABLED;
        break;
    case garden::Bias::pull_up:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_UP;
        break;
    case garden::Bias::pull_down:
        flags |= GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN;
        break;
    }
    return flags;
}

} // namespace

Result<std::unique_ptr<Line>> open_line(const garden::Sensor& sensor) {
    const int chip = open_chip(sensor.chip);
    if (chip < 0)
        return Error{"chip " + sensor.chip + ": " + std::strerror(errno) +
                     " (`gpiodetect` lists the chips there are)"};
    gpio_v2_line_request request{}; // the kernel refuses padding that is not zero
    std::snprintf(request.consumer, sizeof request.consumer, "firstmow");
    request.offsets[0] = static_cast<std::uint32_t>(sensor.line);
    request.num_lines = 1;
    request.config.flags = flags_of(sensor);
    const int asked = ::ioctl(chip, GPIO_V2_GET_LINE_IOCTL, &request);
    const int fault = errno;
    ::close(chip);
    if (asked < 0)
        return Error{"chip " + sensor.chip + " line " + std::to_string(sensor.line) + ": " +
                     std::strerror(fault)};
    const int flags = ::fcntl(request.fd, F_GETFL);
    ::fcntl(request.fd, F_SETFL, flags | O_NONBLOCK);
    return std::unique_ptr<Line>(std::make_unique<ChipLine>(request.fd));
}

} // namespace firstmow::sensors
