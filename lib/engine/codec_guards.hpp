// What interlocks and sensors remember, in JSON. For the codec's own .cpp files only.
//
// Text of before they were there lacks all of it: then nothing is remembered.
#pragma once

#include "engine/codec_json.hpp"
#include "engine/guards.hpp"

namespace firstmow::engine {

Json guard_json(const ZoneGuard& guard);
ZoneGuard read_guard(Reader& reader, const Json& zone);

Json guards_json(const Guards& guards);
// `fresh` is what a state begins with; sensors are found by their id.
Guards read_guards(Reader& reader, const Json& state, Guards fresh);

} // namespace firstmow::engine
