// What was learned of a zone, in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "engine/state.hpp"

#include <vector>

namespace firstmow::engine {

Json estimate_json(const watering::Estimate& estimate);
watering::Estimate read_estimate(Reader& reader, const Json& json);

Json heard_json(const Heard& heard);
Heard read_heard(Reader& reader, const Json& object, const char* key);

Json corrections_json(const std::vector<Undoable>& corrections);
std::vector<Undoable> read_corrections(Reader& reader, const Json& zone);

} // namespace firstmow::engine
