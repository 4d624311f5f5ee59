// The earth of a zone through time, for the picture: how hard each layer holds its water, each half
// hour from a day behind to a day ahead.
//
// The day behind is lived again from the state of one to two days ago, with the zone's factors as
// they are believed now; the day ahead is what foresee() comes by. Pure.
#pragma once

#include "base/time.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace firstmow::engine {

struct Setup;
struct State;

constexpr Seconds kEarthEvery{1800};

struct EarthPoint {
    WallTime time;
    std::vector<double> kpa; // of each layer, from the top; 0 or negative
};
// Of the driest quarter while a seedbed is judged by it, of the mean later.
struct ZoneEarth {
    std::string zone;
    std::vector<double> bottom_mm;  // of each layer, from the top
    std::vector<EarthPoint> points; // in order
};

// Up to `now`, as far as the last days are known; without a point when they are not.
ZoneEarth earth_behind(const Setup& setup, const State& state, std::size_t zone, WallTime now);
// One more point, at `now`.
void add_earth(ZoneEarth& earth, const Setup& setup, const State& state, std::size_t zone,
               WallTime now);

} // namespace firstmow::engine
