// What a day brought: the weather, what each zone lost and got, how dry it became and for how long,
// each run and each run withheld with its reason, and one paragraph in words.
//
// Made from the journal's records of one local day; nothing is modelled anew.
#pragma once

#include "base/timezone.hpp"
#include "engine/records.hpp"
#include "garden/garden.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::review {

// All that was recorded for one local day, each kind in the order of its time.
struct DayRecords {
    Date date;
    WallTime from; // local midnight
    WallTime to;   // the next one
    std::vector<engine::WeatherUsed> weather;
    std::vector<engine::Cycle> cycles;
    std::vector<engine::Decision> decisions;
    std::vector<engine::Moisture> moisture; // lines with from < time <= to: each tells of before
    std::vector<engine::PhaseRecord> phases;
    std::vector<engine::Notice> notices;
};

// A day is called hot from this maximum on. Common practice, no source: cool-season grasses are
// under heat stress above about 30 C.
inline constexpr double kHotFromC = 30;

// A day in one line, for a row of days and for comparing one with those before.
struct DaySummary {
    Date date;
    int hours = 0; // of weather that are known; the values below mean nothing when it is 0
    double high_c = 0;
    double low_c = 0;
    double et_short_mm = 0;
    double rain_mm = 0;
    int runs = 0;
    double volume_l = 0;
    int dry_s = 0;                // longest time that one zone was below its threshold
    std::optional<double> cost{}; // of the water, when the garden file has a price
    bool operator==(const DaySummary&) const = default;
    bool hot() const { return hours > 0 && high_c >= kHotFromC; }
};

struct Run {
    engine::Cycle cycle;
    std::string explanation; // of the decision that began it; empty when there is none
};

struct ZoneDay {
    std::string zone;
    std::string name;
    double evaporation_mm = 0; // less dew
    double transpiration_mm = 0;
    double rain_mm = 0;
    double applied_mm = 0;
    double runoff_mm = 0;
    double drainage_mm = 0;
    double volume_l = 0;
    double lowest_kpa = 0; // of the driest quarter's seed zone
    WallTime lowest_at;
    // Its seed zone had a threshold at some time of the day, and seed that is wetted: on the day of
    // sowing it is judged from its first water on, for dry seed in dry ground takes no harm. The
    // lowest of above is then that of the time that was judged.
    bool judged = false;
    WallTime judged_from;     // when judged
    double threshold_kpa = 0; // the wettest that was asked, when judged
    int dry_s = 0;            // how long it was below
    double warmest_c = 0;     // at seed depth
    std::vector<Run> runs;
    std::vector<engine::Decision> withheld; // each time that a run was due and not given
};

struct AirDay {
    int hours = 0;
    int measured_hours = 0; // of which the temperature was measured
    double high_c = 0;
    WallTime high_at; // start of the hour
    double low_c = 0;
    double et_short_mm = 0;
    double rain_mm = 0;
};

struct DayReview {
    AirDay air;
    std::vector<ZoneDay> zones; // in the garden's order
    DaySummary summary;
    std::optional<DaySummary> usual; // mean of the days before that have weather, up to seven
    std::string text;                // one paragraph, local times, the garden's units
};

// `before`: days before this one, any order; only those of the seven days before are compared with.
DayReview review_day(const DayRecords& day, std::span<const DaySummary> before,
                     const garden::Garden& garden, const TimeZone& local);

// The paragraph; words.cpp.
std::string in_words(const DayRecords& day, const DayReview& review, const garden::Garden& garden,
                     const TimeZone& local);

} // namespace firstmow::review
