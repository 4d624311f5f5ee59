#include "valves/driver.hpp"

#include "base/text.hpp"
#include "host/clocks.hpp"
#include "host/files.hpp"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <unistd.h>

namespace firstmow::valves {

namespace {

// A valve that is no valve: it can write its changes to a file, "MONOTONIC_SECONDS CHANNEL
// open|closed" a line, for whoever wants to watch.
class SimulatedValve : public Driver {
public:
    SimulatedValve(int channel, std::string file) : channel_(channel), file_(std::move(file)) {}

    Status set(bool open) override {
        if (file_.empty()) return Done{};
        const auto ms = host::mono_now().time_since_epoch().count();
        const std::string line = fixed(static_cast<double>(ms) / 1000.0, 3) + " " +
                                 std::to_string(channel_) + (open ? " open\n" : " closed\n");
        const int fd = ::open(file_.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
        if (fd < 0) return Error{file_ + ": " + std::strerror(errno)};
        const ssize_t put = ::write(fd, line.data(), line.size());
        const int fault = errno;
        ::close(fd);
        if (put != static_cast<ssize_t>(line.size()))
            return Error{file_ + ": " + (put < 0 ? std::strerror(fault) : "written only in part")};
        return Done{};
    }

private:
    int channel_;
    std::string file_;
};

} // namespace

Result<std::unique_ptr<Driver>> make_driver(const garden::Valve& valve,
                                            const std::string& garden_path) {
    if (valve.driver == "simulated")
        return std::unique_ptr<Driver>(std::make_unique<SimulatedValve>(
            valve.channel, valve.file ? host::beside(garden_path, *valve.file) : ""));
    return Error{"there is no valve driver '" + valve.driver + "'; \"simulated\" would be right"};
}

Status close_without_daemon(const garden::Valve& valve, const std::string& garden_path) {
    Result<std::unique_ptr<Driver>> driver = make_driver(valve, garden_path);
    if (!driver) return driver.error();
    return (*driver)->set(false);
}

} // namespace firstmow::valves
