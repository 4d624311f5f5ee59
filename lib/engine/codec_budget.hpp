// A zone's water and warmth, in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "engine/state.hpp"

namespace firstmow::engine {

// `layers`: of the zone's column.
Json budget_json(const watering::ZoneState& zone, int layers);
watering::ZoneState read_budget(Reader& reader, const Json& json, int layers);

Json flows_json(const soil::Flows& flows);
soil::Flows read_flows(Reader& reader, const Json& object, const char* key);

Json past_json(const Past& past, int layers);
Past read_past(Reader& reader, const Json& json, int layers);

} // namespace firstmow::engine
