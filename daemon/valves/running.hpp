// Whether a daemon tends this garden already.
#pragma once

#include <string>

namespace firstmow::valves {

// The process id of a firstmowd that was started with this garden file, or 0. Only processes that
// may be looked into are seen; the devices' own locks keep the others out.
int daemon_of(const std::string& garden_path);

} // namespace firstmow::valves
