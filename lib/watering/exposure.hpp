// When the sun reaches a zone. Trees, walls and fences take the direct beam away for a part of the
// day; the light of the sky is taken to reach it in full, so a deep shade is a little thirstier
// here than it is outside.
#pragma once

#include "base/timezone.hpp"
#include "garden/garden.hpp"

#include <vector>

namespace firstmow::watering {

// A stretch of the sun's day as its hour angle: 0 at solar noon, pi/12 an hour; from < to.
struct SunSpan {
    double from_rad = 0;
    double to_rad = 0;
};
struct Exposure {
    bool all_day = true;
    std::vector<SunSpan> spans; // when not all day
};

// Of a zone. `solar_ahead`: what sun time is ahead of the clock there (solar_ahead()).
Exposure exposure_of(const garden::Zone& zone, Seconds solar_ahead);

// The hours in a garden file are of the clock on the day of sowing or laying, else of the clock
// in summer. The sundial's own quarter of an hour over the year is let go.
Seconds solar_ahead(const weather::Place& place, const TimeZone& timezone,
                    const garden::Zone& zone);

// The part of the hour around this hour angle of the sun in which it reaches the zone, 0..1.
double sunlit_share(const Exposure& exposure, double hour_angle_rad);

} // namespace firstmow::watering
