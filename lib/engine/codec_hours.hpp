// Hours of weather in JSON, shared by inputs and state. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "weather/hour.hpp"

#include <vector>

namespace firstmow::engine {

Json hours_json(const std::vector<weather::Hour>& hours);
std::vector<weather::Hour> read_hours(Reader& reader, const Json& object, const char* key);

} // namespace firstmow::engine
