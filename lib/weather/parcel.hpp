// What a source of weather hands over at once: readings, and what is known about them.
//
// Whoever talks to a source (a service on the network, a station, a gauge on the board) makes
// parcels of what it said, in our units and full hours, and puts them on the desk (desk.hpp).
#pragma once

#include "weather/hour.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace firstmow::weather {

enum class ParcelKind : std::uint8_t {
    measured, // by an instrument, of hours that have passed
    forecast, // by a model, of any hour; of one that has passed it is the model's view of it
};

struct Parcel {
    std::uint8_t source = 0; // its number in the garden's list from 1 on, or kGardenSensors
    ParcelKind kind = ParcelKind::measured;
    WallTime retrieved;
    std::vector<Reading> readings; // at most kMostReadings; in any order
    // From this hour on the service speaks of stretches longer than an hour.
    std::optional<WallTime> coarse_from{};
};
inline constexpr std::size_t kMostReadings = 1000;

// The values of a reading, to go through them one by one.
enum class Variable : std::uint8_t {
    temperature,
    humidity,
    wind,
    solar,
    rain,
    dew_point,
    cloud,
    soil
};
inline constexpr std::size_t kVariables = 8;
inline constexpr std::array<std::optional<double> Reading::*, kVariables> kReadingValues = {
    &Reading::air_temp_c,     &Reading::rel_humidity_pct, &Reading::wind_2m_m_s,
    &Reading::solar_w_m2,     &Reading::rain_mm,          &Reading::dew_point_c,
    &Reading::cloud_fraction, &Reading::soil_temp_c};
std::string_view key(Variable variable); // "temperature", "humidity", ...

} // namespace firstmow::weather
