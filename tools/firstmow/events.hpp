// The events of a simulated season: what people do, from a CSV file.
#pragma once

#include "garden/garden.hpp"
#include "sim/season.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::companion {

// Header "time,zone,kind,value"; sorted by time. Nothing when the file has a fault (every one has
// been printed with its place). `stop` without a zone means all.
std::optional<std::vector<sim::Event>> read_events(const std::string& path,
                                                   const garden::Garden& garden);

} // namespace firstmow::companion
