// A weather file for the commands: read strictly, every fault on stderr.
#pragma once

#include "weather/hour.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::companion {

// The readings; nothing when the file has a fault (they have been printed).
std::optional<std::vector<weather::Reading>> read_weather(const std::string& path);

} // namespace firstmow::companion
