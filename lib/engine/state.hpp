// All that the engine remembers between two steps. A value: copied for snapshots, compared in
// tests, written to and read from JSON (codec.hpp). Nothing else is remembered anywhere.
#pragma once

#include "base/timezone.hpp"
#include "engine/inputs.hpp"
#include "engine/records.hpp"
#include "watering/forecast_record.hpp"
#include "watering/planner.hpp"

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::engine {

// Water on its way: an opening that the budget has not wholly taken in yet.
struct Applied {
    WallTime from;
    std::optional<WallTime> to; // none: still open
    bool operator==(const Applied&) const = default;
};

// A valve that is open, or on its way to or from it.
struct OpenCycle {
    // priming: waits for the master valve; its own valve has not been asked yet.
    enum class Stage : std::uint8_t { opening, running, closing, priming };
    Stage stage = Stage::opening;
    std::int64_t id = 0;
    int planned_s = 0;
    std::string reason;
    WallTime wall_start; // confirmed opening; before that, when it was asked for
    MonoTime mono_start;
    MonoTime asked;                       // when the last command went out
    Outcome outcome = Outcome::completed; // how it will be written down
    bool operator==(const OpenCycle&) const = default;
};

// Where a zone stood some time ago: from there its hours are run again when its factors change.
struct Past {
    WallTime at;
    watering::ZoneState zone;
    double cloud_factor = 0.7; // see State
    soil::Flows flows;         // of the mean, from then to State::settled_until
    bool operator==(const Past&) const = default;
};

// The first four causes of a correction: what is heard from people and instruments.
inline constexpr std::size_t kCausesHeard = 4;
using Heard = std::array<std::optional<WallTime>, kCausesHeard>;

// A correction that can be taken back.
struct Undoable {
    Correction correction;
    watering::Estimate before;
    Heard heard_before;
    bool operator==(const Undoable&) const = default;
};

// The last order or report of a person on a zone that can still be taken back, and what was so
// before it. An order of water only until it runs: then it is stopped.
struct LastWord {
    enum class What : std::uint8_t { water, hold, release, report, mow };
    What what = What::water;
    std::int64_t number = 0; // growing over the garden
    WallTime at;
    int run_s = 0;                // water
    turf::ObservationKind seen{}; // report
    std::optional<WallTime> hold_until;
    std::optional<WallTime> mow_at;   // before it
    std::optional<WallTime> mow_said; // mow
    std::optional<Latch> lock;
    int ordered_s = 0;
    WallTime ordered_until;
    WallTime not_before;
    int owed_s = 0;
    bool reported_dry = false;
    unsigned advised = 0;
    // Of a report: the zone as it was, and what was believed before and after.
    std::optional<Past> past;
    watering::Estimate estimate;
    watering::Estimate estimate_after;
    Heard heard{};
    WallTime not_before_after; // what the report made of it
    bool operator==(const LastWord&) const = default;
};

struct ZoneRuntime {
    watering::ZoneState settled;       // the budget at State::settled_until
    watering::Estimate estimate;       // of the zone's own factors
    Heard heard;                       // when last, by cause
    std::vector<Undoable> corrections; // newest last, at most 8
    Past past;                         // one to two days ago
    Past newer;                        // becomes `past` when a day is over
    double applied_later_mm = 0; // what a correction found to have been given, for the next line
    soil::Flows since_line;      // mean flows since the last line of moisture
    std::vector<Applied> applied;
    std::optional<OpenCycle> open;
    WallTime ordered_until; // a person's order is dropped then
    int ordered_s = 0;      // a person's order that waits for the tap
    std::optional<WallTime> hold_until;
    std::optional<WallTime> mow_at; // when a person will mow; until it is reported or long past
    std::optional<WallTime> last_wetted;
    double dried_mm = 0;       // reference ET less rain since then, settled hours
    bool soaked = false;       // the first soak has been given
    bool reported_dry = false; // a person saw it dry on top; until the next run
    int owed_s = 0;            // rest of a run that was split, given after a soak
    WallTime not_before;       // no planned run earlier: rest after a run, a stop, a fault, puddles
    unsigned advised = 0;      // what a person was told to do, bits of advice.cpp
    int faults = 0;            // openings in a row that the valve did not obey
    std::optional<WallTime> warned_dry; // last notice that it will dry; of that spell:
    WallTime warned_until;              //   its end
    int warned_dry_s = 0;               //   how long it is too dry within it
    int warned_stake = 0;               //   watering::AtStake
    std::optional<WallTime> next_start; // of the planned run
    int next_run_s = 0;
    std::string next_reason;
    std::string explanation; // of the last decision
    Verdict verdict = Verdict::wait;
    Date day{}; // local day of the sums below
    double day_mm = 0;
    double day_l = 0;
    ZoneGuard guard;
    std::optional<LastWord> word;
    bool operator==(const ZoneRuntime&) const = default;
};

struct State {
    bool begun = false;
    WallTime settled_until;            // the budget has taken in the weather up to here
    double cloud_factor = 0.7;         // carried between hours, see weather::CloudMemory
    std::vector<weather::Hour> recent; // settled hours, newest last, at most 72
    std::vector<weather::Hour> forecast;
    watering::ForecastRecord forecast_record; // how such thoughts turned out
    std::int64_t next_cycle_id = 1;
    std::int64_t next_word = 1;
    WallTime next_plan;
    std::vector<ZoneRuntime> zones; // in the garden's order
    std::vector<Notice> notices;    // newest last, at most 20
    Guards guards;
    bool operator==(const State&) const = default;
};

} // namespace firstmow::engine
