// What the garden file calls the kinds of sensors.
#pragma once

#include "garden/garden.hpp"

#include <string_view>

namespace firstmow::garden {

std::string_view key(SensorKind kind);

} // namespace firstmow::garden
