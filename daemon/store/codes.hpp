// How phases and the origins of weather values are written in the database. Only this room
// includes it.
#pragma once

#include "turf/phase.hpp"
#include "weather/hour.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace firstmow::store {

std::optional<turf::Phase> phase_of(std::string_view key);

// A letter each for temperature, humidity, wind, sun and rain.
std::string origin_letters(const weather::Hour& hour);
// Sets the origins of `hour`; false if the letters are not such.
bool take_origins(std::string_view letters, weather::Hour& hour);

} // namespace firstmow::store
