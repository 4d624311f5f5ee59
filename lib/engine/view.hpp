// The whole garden at one moment, as people and the API are shown it. A value that is made by the
// engine after each step and never changes afterwards; readers share it without locks.
#pragma once

#include "base/time.hpp"
#include "engine/guards.hpp"
#include "turf/mowing.hpp"
#include "turf/prospect.hpp"
#include "watering/estimate.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::engine {

struct NextRun {
    WallTime start;
    int run_s = 0;
    std::string explanation;
};

// A point of the past or expected course of a zone's wetness.
struct CoursePoint {
    WallTime time;
    double seed_zone_kpa = 0;
    double low_quarter_kpa = 0;
};

// The soil from `top_mm` to `bottom_mm` below the surface, mean of the zone.
struct LayerView {
    double top_mm = 0;
    double bottom_mm = 0;
    double water_fraction = 0; // volume of water per volume of soil
    double kpa = 0;
};

// A run that would be given if the weather came as expected (foresight.hpp).
struct PlannedRun {
    WallTime start;
    int run_s = 0;
    std::string reason; // code
};

// Rain that the forecast speaks of in an hour.
struct RainAhead {
    WallTime start;
    double rain_mm = 0;
    double probability = 1; // 0..1
};

// What was last learned of a zone's factors.
struct CorrectionView {
    WallTime time;
    std::string cause; // key
    std::string why;   // one sentence
};

// What a person said last of a zone, while it can be taken back.
struct WordView {
    std::int64_t number = 0; // for WordUndo
    std::string what;        // "water" that waits for the tap, "hold", "release", "report", "mow"
    WallTime at;
    WallTime until;
    std::string text; // a sentence
};

struct ZoneView {
    std::string id;
    std::string name;
    turf::Phase phase{};
    double progress_pct = 0; // within the way to "all up", 0..100; 100 afterwards
    bool valve_open = false;
    std::optional<WallTime> closes_at; // while open
    double rate_mm_per_h = 0;          // while the valve is open, zone mean, as learned
    double seed_depth_mm = 0;
    double seed_zone_kpa = 0;
    double low_quarter_kpa = 0;
    double threshold_kpa = 0;     // the driest quarter shall stay wetter
    bool judge_root_zone = false; // later phases: depletion counts, not the seed zone
    double depletion = 0;         // of the root zone's available water, 0..1
    double allowed_depletion = 0;
    // The roots have used too much, and the water that has come sinks to them until then.
    std::optional<WallTime> sinks_until;
    // How the grass comes on; all empty for a grown-in lawn.
    std::string growth; // what is expected next and what was lost, one or two sentences
    turf::Prospect prospect;
    turf::Stand stand;
    turf::MowAdvice mow;
    std::optional<WallTime> keep_off_until;
    double cover_fraction = 0;
    double root_depth_mm = 0;
    double soil_temp_c = 0;
    std::optional<NextRun> next;
    std::string explanation; // the last decision's sentence, also when nothing is planned
    std::optional<WallTime> hold_until;
    std::optional<WallTime> mow_at;    // when a person will mow
    std::optional<WallTime> firm_from; // from when on no water is given for that
    std::optional<Latch> lock;         // an alarm closed it until a person ends the hold
    double usual_l_per_min = 0;        // learned from the flow meter; 0: not yet
    std::vector<LayerView> layers;
    // The next 24 h, every 30 min: with every run that is to be expected once foresight has been
    // put in, until then with the next run only.
    std::vector<CoursePoint> outlook;
    std::vector<PlannedRun> planned; // in these 24 h, in order; empty until foresight is there
    double today_mm = 0;             // applied since local midnight
    double today_l = 0;
    watering::Factors factors;                // the zone's own, learned
    double low_quarter = 1;                   // distribution uniformity with them
    std::optional<CorrectionView> correction; // the last that can be taken back
    std::optional<WordView> word;
};

// A stretch in which the driest quarter of a seedbed is below its threshold.
struct DryStretch {
    WallTime from;
    WallTime until;
    double lowest_kpa = 0;
};

// What would be left of a zone's dry hours with one thing changed: `longer_hours`, `straw`,
// `fewer_zones` (at once on the tap), `even_nozzles`.
struct Help {
    std::string what;
    double dry_hours = 0;
};

// A seedbed that will be too dry in spite of the plan (shortfalls.hpp).
struct ShortfallView {
    std::string zone;
    std::string at_stake; // key of watering::AtStake
    WallTime until;       // how far was looked
    double dry_hours = 0; // in all
    double lowest_kpa = 0;
    std::vector<DryStretch> spells; // in order, at most 20
    std::vector<Help> helps;        // the best first
    bool ask_authority = false;     // the hours look like a ban on watering at midday
    std::string text;               // all that in words
};

struct NoticeView {
    WallTime time;
    std::string zone;
    std::string severity;
    std::string text;
    std::string code = {};
};

struct SensorView {
    std::string id;
    std::string kind; // as in the garden file
    double value = 0;
    std::optional<WallTime> heard; // when it last said something that could be
    bool silent = false;
};

// From `from` on the garden's clocks show UTC + `utc_offset`.
struct ClockOffset {
    WallTime from;
    Seconds utc_offset{0};
};

struct GardenView {
    WallTime time;
    std::string site_name;
    std::string timezone;
    // From some years behind `time` to a year ahead, sorted: who shows times needs no table of his
    // own. The first counts for what lies before it too.
    std::vector<ClockOffset> clock_offsets;
    std::string units;                     // "metric" or "us"
    std::optional<WallTime> weather_until; // end of the last measured hour
    std::string weather_note;              // one sentence when something lacks, else empty
    double air_temp_c = 0;                 // of the hour in force
    double et_short_mm_per_h = 0;          // of the hour in force
    std::vector<RainAhead> rain_ahead;     // hours with rain in the coming 24 h, from the forecast
    std::optional<Latch> stop;             // the emergency stop is latched
    bool clock_trusted = true;             // planned runs wait until it is
    std::vector<SensorView> sensors;
    std::vector<ZoneView> zones;
    std::vector<ShortfallView> shortfalls; // the dearest first; empty until looked for
    std::vector<NoticeView> notices;       // newest first, at most 20
};

} // namespace firstmow::engine
