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

} // namespace firstmow::host
