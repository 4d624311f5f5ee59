// Invented weather: hours that hang together, for demonstrations, trials and tests.
//
// Made of parts that follow from each other: sun and clouds give radiation and the range of the
// day; air masses come and go over days and bring warmth and dew point; fronts and summer showers
// bring rain; wind rises by day. Sizes are those of a continental climate, from memory, except
// where a formula is named; good to exercise the physics, never a source of it.
//
// The hours depend on place, seed and date only, not on where the window begins: a longer window
// with the same arguments holds the shorter one. Any place and date; every value lies within the
// ranges of weather/csv.hpp.
#pragma once

#include "weather/hour.hpp"

#include <cstdint>
#include <optional>
#include <vector>

namespace firstmow::sim {

// Both days included. Days are those of the place: UTC moved by a whole hour per 15 degrees.
struct DaySpan {
    Date first;
    Date last;
};

struct WorldSpec {
    weather::Place place;
    WallTime from; // a full hour
    int hours = 0; // 0..kMostWorldHours

    // What is wanted to happen, whatever the seed. Where two meet, the storm goes before the hot
    // spell, and that before the dewy nights.
    std::optional<DaySpan> hot_spell; // cloudless and dry; the last two days reach the peak
    double hot_peak_c = 34;           // highest hourly mean, within half a degree
    std::optional<Date> storm;        // a thunderstorm in the evening
    double storm_mm = 25;             // in two hours
    std::optional<DaySpan> dewy;      // clear, calm nights that reach the dew point
};

inline constexpr int kMostWorldHours = 24 * 366 * 10;

// Complete readings, hour by hour.
std::vector<weather::Reading> invent(const WorldSpec& spec, std::uint64_t seed);

} // namespace firstmow::sim
