// What a person said last of a zone, in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"
#include "engine/state.hpp"

#include <optional>

namespace firstmow::engine {

Json word_json(const std::optional<LastWord>& word, int layers);
// Text from before words could be taken back lacks it.
std::optional<LastWord> read_word(Reader& reader, const Json& zone, int layers);

} // namespace firstmow::engine
