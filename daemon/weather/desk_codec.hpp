// What the desk remembers, as JSON text: kept over a restart.
#pragma once

#include "base/result.hpp"
#include "weather/desk.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace firstmow::weather_source {

// `ids` of the garden's list stand beside it: another list makes what was kept useless.
std::string encode_desk(const weather::DeskState& state,
                        const std::vector<weather::DeskSource>& sources);
// An Error when the text is none of ours, or is of another list.
Result<weather::DeskState> decode_desk(std::string_view text,
                                       const std::vector<weather::DeskSource>& sources);

} // namespace firstmow::weather_source
