// The parts of the bench; each prints its own tables to stdout.
#pragma once

#include <optional>
#include <string>

namespace firstmow::bench {

struct Options {
    int days = 14;
    int refine = 1;       // the engine's layers cut in so many
    bool thermal = false; // the judge with a temperature profile
    int worst = 12;       // rows named
    int threads = 1;
    int width = 30;                       // labels that the search with foresight keeps
    std::optional<double> start_price_mm; // what a start costs foresight; else what the planner has
    bool fine = false;  // judged on the fine grid; searched on the quick one always
    bool alone = false; // the planner alone: no timer, no foresight
    bool runs = false;  // every run of every schedule listed
    std::string pick;   // cases whose "WEATHER,SOIL" holds this
    // Measured seasons beside the invented weather: see season_files.hpp.
    std::optional<std::string> folder;
    // A measured season instead of the invented ones.
    std::optional<std::string> weather;
    double latitude_deg = 41;
    double longitude_deg = -90;
    double elevation_m = 210;
    std::string sown; // date; the first of August when empty
};

// The engine's column against the judge's: thresholds, refills, evaporation. False, here and
// below, when weather cannot be read.
bool columns(const Options& options);
// The engine's zone against soil moisture, temperature and evaporation that were measured.
bool moisture(const Options& options);
// The planner beside a schedule with perfect foresight and a fixed timer, before emergence.
bool planner(const Options& options);
// The planner on a tap that is busy all day, beside an exhaustive search.
void shared_tap(const Options& options);
// Grown-in landscapes by the account that weather-based controllers are judged by.
bool landscapes(const Options& options);
// Estimates of radiation, humidity and wind against what was measured, by method.
bool fill(const Options& options);
// What is assumed of the hours ahead, where there is no forecast, against what came.
bool ahead(const Options& options);
// What the column and a season cost on this machine.
void cost(const Options& options);
// Seasons run by the engine, their seedbeds judged.
bool seasons(const Options& options);

} // namespace firstmow::bench
