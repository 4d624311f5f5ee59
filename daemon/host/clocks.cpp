#include "host/clocks.hpp"

#include <ctime>

namespace firstmow::host {

WallTime wall_now() {
    return std::chrono::floor<Seconds>(std::chrono::system_clock::now());
}

MonoTime mono_now() {
    timespec t{};
    clock_gettime(CLOCK_BOOTTIME, &t);
    return MonoTime{std::chrono::duration_cast<Millis>(Seconds{t.tv_sec} +
                                                       std::chrono::nanoseconds{t.tv_nsec})};
}

bool clock_is_plausible(WallTime now, std::optional<WallTime> last_known) {
    // Before this was written it cannot be.
    constexpr WallTime kWritten{std::chrono::sys_days{std::chrono::year{2026} / 1 / 1}};
    // Clocks are set back by seconds, and by an hour where local time was taken for UTC.
    constexpr std::chrono::hours kMaySlip{2};
    return now >= kWritten && (!last_known || now >= *last_known - kMaySlip);
}

} // namespace firstmow::host
