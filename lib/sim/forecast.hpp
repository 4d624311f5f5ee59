// What a forecaster would have said: forecasts made from the weather that really came.
//
// `perfect` is the weather itself, `none` nothing, `noisy` the weather blurred with errors that
// grow with lead time: temperature 0.8 to 1.8 deg C, radiation 15 to 35 %, rain that comes hours
// early or late, more or less than said, not at all, or unannounced (sizes from memory of published
// verification of hourly point forecasts; invented data for trials, never a source of physics).
#pragma once

#include "weather/hour.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace firstmow::sim {

enum class ForecastMode : std::uint8_t { perfect, none, noisy };

inline constexpr int kForecastHours = 60;

// The forecast issued at the beginning of `truth[now]`, for that hour and those after it. Empty for
// `none`. Same arguments, same forecast.
std::vector<weather::Hour> forecast(std::span<const weather::Hour> truth, std::size_t now,
                                    ForecastMode mode, std::uint64_t seed);

} // namespace firstmow::sim
