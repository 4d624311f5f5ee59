// The machine's clocks: the only place that reads them.
#pragma once

#include "engine/inputs.hpp"
#include "garden/garden.hpp"

#include <optional>

namespace firstmow::host {

WallTime wall_now();
// Counts through suspend (CLOCK_BOOTTIME): what open valves are measured with.
MonoTime mono_now();
inline engine::Moment moment_now() {
    return {wall_now(), mono_now()};
}

// Whether the wall clock can be the time. A board without a clock battery starts years ago, or
// where it was last switched off, and leaps when it first hears the time; until then nothing may be
// planned. `last_known` is the latest time that the journal knows of.
bool clock_is_plausible(WallTime now, std::optional<WallTime> last_known);

// Whether the wall clock has been set since the machine started, as far as that can be known: the
// kernel says that a time service keeps it, or timesyncd has left its mark. Automatic also takes a
// machine with a clock chip, and one on which no time service is running: there nobody will set it.
bool clock_is_set(garden::Clock policy);

} // namespace firstmow::host
