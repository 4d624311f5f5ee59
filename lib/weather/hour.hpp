// One hour of weather, as read and as used.
//
// Every hour is named by its start. Values are means over the hour, rain is its sum.
#pragma once

#include "base/time.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace firstmow::weather {

// What a source said; a value that it did not give is absent.
struct Reading {
    WallTime start;                         // UTC, on the full hour
    std::optional<double> air_temp_c;       // at screen height, -60..60
    std::optional<double> rel_humidity_pct; // 0..100
    std::optional<double> wind_2m_m_s;      // at 2 m, 0..60
    std::optional<double> solar_w_m2;       // shortwave on the flat, 0..1500
    std::optional<double> rain_mm;          // 0..200
    // Beyond the file's columns: what services and stations give, and an hour is completed from.
    std::optional<double> dew_point_c{};      // -60..40
    std::optional<double> cloud_fraction{};   // 0 clear .. 1 overcast
    std::optional<double> rain_probability{}; // 0..1
    std::optional<double> soil_temp_c{};      // at 50 to 100 mm, -40..60
    bool operator==(const Reading&) const = default;
};

// Where a value came from; kept with every hour that is used.
enum class Origin : std::uint8_t {
    measured,  // given by the source for an hour that has passed
    forecast,  // given for an hour that was still to come
    estimated, // made from other values by a published method
    assumed,   // from the season, the place and the last days, for want of anything
};

inline constexpr std::uint8_t kGardenSensors = 255; // a rain gauge wired to the board, and the like

// A complete hour: what the physics runs on. All values finite.
struct Hour {
    WallTime start;
    double air_temp_c = 0;
    double rel_humidity_pct = 0;
    double wind_2m_m_s = 0;
    double solar_w_m2 = 0;
    double rain_mm = 0;
    double rain_probability = 1; // 0..1 that the rain falls; 1 for hours that have passed
    Origin temp_origin = Origin::measured;
    Origin humidity_origin = Origin::measured;
    Origin wind_origin = Origin::measured;
    Origin solar_origin = Origin::measured;
    Origin rain_origin = Origin::measured;
    // Which source gave temperature, humidity, wind, sun and rain: its number in the garden's list
    // from 1 on, kGardenSensors, or 0 for none of them.
    std::array<std::uint8_t, 5> sources{};
    std::optional<double> soil_temp_c{}; // at 50 to 100 mm, where a source gave it
    bool operator==(const Hour&) const = default;
};

// Where on earth.
struct Place {
    double latitude_deg = 0;  // north positive, -90..90
    double longitude_deg = 0; // east positive, -180..180
    double elevation_m = 0;   // -430..6000
};

} // namespace firstmow::weather
