// What the tests feed the programs: a garden of two zones, and hours of fair weather.
#pragma once

#include "base/time.hpp"

#include <string>
#include <vector>

namespace firstmow::process {

extern const std::string kCompanion; // the built programs
extern const std::string kDaemon;
extern const std::string kInventWeather;

struct GardenSpec {
    std::string name = "Trial garden";
    std::string timezone = "America/Chicago";
    double longitude_deg = -93.6;
    std::string flow = "35 L/min";
    std::string hours = "06:00-19:00";
    std::string start = "2026-08-22";
    std::string weather; // a file for the daemon; empty: none
    std::string valve_file = "valves.log";
    bool with_bed = true; // the second zone
};
// "front", newly seeded, valve channel 1; "bed", mature, channel 2. Both ask for 21.3 L/min.
std::string garden_text(const GardenSpec& spec = {});

// Hours of the day, UTC, that begin some hours from now: nothing is planned meanwhile.
std::string hours_far_from_now();
// Where the sun stands highest now: no evening is near, at whatever hour a test runs.
double noon_longitude_deg();
WallTime now();
std::string today();

// A line of fair weather for the hour that starts at `start`.
std::string hour_line(WallTime start, double air_temp_c = 22.0);
extern const std::string kWeatherHeader; // with its line break

} // namespace firstmow::process
