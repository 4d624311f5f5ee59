// Six kinds of invented weather, whole seasons of them, for where no measured ones are given.
#pragma once

#include "season_files.hpp"

#include <array>
#include <string_view>

namespace firstmow::bench {

inline constexpr std::array<std::string_view, 6> kSixWeathers{"hot dry", "windy arid",  "warm",
                                                              "humid",   "cool cloudy", "showery"};

// sim/world.hpp's weather of a place that suits, bent towards its kind; from 31 July on.
MeasuredSeason six_weather(std::string_view kind, int days);

} // namespace firstmow::bench
