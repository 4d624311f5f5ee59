#include "host/clocks.hpp"

#include <ctime>
#include <sys/timex.h>
#include <unistd.h>

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

bool clock_is_set(garden::Clock policy) {
    if (policy == garden::Clock::free) return true;
    timex state{};
    // Refused under ProtectClock= of the service unit; then timesyncd's mark has to do.
    if (::adjtimex(&state) >= 0 && (state.status & STA_UNSYNC) == 0) return true;
    const auto there = [](const char* path) { return ::access(path, F_OK) == 0; };
    if (there("/run/systemd/timesync/synchronized")) return true;
    if (policy == garden::Clock::synchronised) return false;
    const bool served = there("/run/systemd/timesync") || there("/run/chrony");
    return !served || there("/sys/class/rtc/rtc0");
}

} // namespace firstmow::host
