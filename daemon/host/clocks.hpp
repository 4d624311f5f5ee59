// The machine's clocks: the only place that reads them.
#pragma once

#include "engine/inputs.hpp"

namespace firstmow::host {

WallTime wall_now();
// Counts through suspend (CLOCK_BOOTTIME): what open valves are measured with.
MonoTime mono_now();
inline engine::Moment moment_now() {
    return {wall_now(), mono_now()};
}

} // namespace firstmow::host
