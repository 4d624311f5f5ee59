// How far a zone's grass has come, in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "turf/establishment.hpp"

namespace firstmow::engine {

Json progress_json(const turf::Progress& progress);
turf::Progress read_progress(Reader& reader, const Json& json);

} // namespace firstmow::engine
