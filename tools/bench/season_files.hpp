// Measured seasons in a folder: NAME.csv in the weather format, NAME_meta.json with "lat", "lon",
// "elev_m" and "tz_hours", and beside them, where something was observed, NAME_obs.csv or
// NAME_obs_daily.csv. Such folders are no part of the project; nothing but the bench reads them.
#pragma once

#include "base/timezone.hpp"
#include "weather/hour.hpp"
#include "weather/reference_et.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::bench {

struct MeasuredSeason {
    std::string name;
    weather::Place place;
    TimeZone local; // the site's offset all the year
    std::vector<weather::Hour> hours;
    std::optional<std::string> observed_file; // path
    std::optional<std::string> soil;          // texture class, where the meta file has a "soil"
    std::optional<std::string> cover;         // "bare" or "grass", where it has a "cover"
};
// Every season of the folder, by name; nothing, with a word on stderr, if one cannot be read.
std::optional<std::vector<MeasuredSeason>> read_seasons(const std::string& folder);

// Reference ET (short) of an hour.
double hour_et_mm(const weather::Place& place, const weather::Hour& hour,
                  weather::CloudMemory& clouds);

std::optional<std::string> read_whole(const std::string& path);

} // namespace firstmow::bench
