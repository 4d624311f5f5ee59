// All that the engine keeps of a zone, in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "engine/state.hpp"

#include <string>

namespace firstmow::engine {

Json zone_json(const std::string& id, const ZoneRuntime& zone, int layers);
ZoneRuntime read_zone(Reader& reader, const Json& json, int layers);

} // namespace firstmow::engine
