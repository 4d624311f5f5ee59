// Valves that are no valves: each change is a line in a file, "MONOTONIC_SECONDS CHANNEL
// open|closed", for whoever wants to watch. Seconds are those of CLOCK_BOOTTIME.
#pragma once

namespace firstmow::keeper {

// 0, or an errno. An empty path: nothing is written.
int write_valve_line(const char* path, int number, bool open);

} // namespace firstmow::keeper
