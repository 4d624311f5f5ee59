// How the grass of a zone comes on: the soil of the days ahead, the dates that follow from it, and
// the words for both. Inside of the engine room.
#pragma once

#include "engine/engine.hpp"
#include "turf/mowing.hpp"
#include "turf/prospect.hpp"

#include <string>
#include <vector>

namespace firstmow::engine {

// The seed zone's warmth over the days from `now` on: the forecast's air while there is one, then
// what was measured and forecast, carried on along the usual course of the year; and the soil as
// much warmer than the air as it has been of late.
std::vector<turf::SoilDay> soil_ahead(const Setup& setup, const State& state,
                                      const turf::Progress& progress, WallTime now);
turf::Prospect prospect_of(const Setup& setup, const State& state, std::size_t zone, WallTime now);

// "2026-09-05 to 2026-09-12", "2026-09-08", "not before 2026-10-20"; local dates.
std::string when_words(const turf::When& when, const TimeZone& local);
// One or two sentences on what is expected next, and on what was lost; empty for a grown-in lawn.
std::string growth_words(const turf::Progress& progress, const turf::Prospect& prospect,
                         const TimeZone& local);
// "64 mm (2.5 in)"
std::string height_words(double height_mm);

} // namespace firstmow::engine
