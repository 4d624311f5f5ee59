// The planner: when each zone is watered next, and for how long.
//
// For every zone it looks ahead under the forecast to the moment at which the driest quarter would
// become too dry, and sets a run to begin shortly before it: as late as the hours, the evening
// limit (past it, where a seedbed would else be dry by day or for much of the night) and the shared
// tap allow, and as long as comes cheapest over a day (the last run of a day:
// just long enough to last until the tap may run again). What is still to come is taken as the
// record of past forecasts allows and as what is at stake demands (shortfall.hpp: Prudence). Runs
// of all zones share one queue, filled backwards from the latest deadline, so that a run is moved
// earlier, not later, when the tap is busy. Where not all can be in time, those come first that
// drying would cost most (shortfall.hpp). Pure: same inputs, same plan.
#pragma once

#include "garden/garden.hpp"
#include "watering/open_hours.hpp"
#include "watering/outlook.hpp"

#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace firstmow::watering {

// Why a run is, or is not.
enum class Reason : std::uint8_t {
    seed_zone_drying, // the seed zone would get too dry
    root_zone_used,   // the root zone's allowed water would be used up
    longest_gap,      // so long without water is too long for this phase
    reported_dry,     // a person says that it is dry on top
    first_soak,       // the bed is wetted through once when it is made
    rest_of_run,      // what the soil could not take in one go
    person,           // somebody ordered it
    damp_enough,      // no run: wet enough as far as the forecast reaches
    rain_expected,    // no run: likely rain keeps it wet
    not_started,      // no run: before the day of sowing or laying
    on_hold,          // no run: held by a person
    outside_hours,    // no run in time: the tap may not run before it is dry
    tap_busy,         // no run in time: other zones have the tap
    frost,            // no run in time: too cold to water
    // Interlocks (engine/interlocks.hpp):
    emergency_stop,  // everything is stopped until a person releases it
    clock_untrusted, // the time is not known yet
    locked,          // an alarm has closed the zone until a person releases it
    supply_fault,    // master valve or pump have failed and rest
    wind,            // too windy
    rain_switch,     // it is wet
    longest_run,     // longer than a run may be
    day_full,        // the zone has had its most for a day
    zone_rest,       // the rest after its last run
    zones_at_once,   // as many run as may
    pump_rest,       // the rest between two starts of the pump
};
std::string_view key(Reason reason);

// What forbids a run.
struct Bar {
    Reason reason{};
    std::optional<WallTime> until; // none: not known
    std::string detail;            // a clause, where the reason alone does not say it
};

// What the planner knows of a zone at `now`.
struct ZoneTask {
    const garden::Zone* zone = nullptr;
    const ZoneSpec* spec = nullptr;
    ZoneState state;   // now
    turf::Needs needs; // now
    bool under_way = true;
    std::optional<WallTime> open_until; // while the valve is open
    std::optional<WallTime> hold_until;
    std::optional<WallTime> last_wetted; // end of the last run or good rain
    double dried_mm = 0;                 // reference ET less rain since then
    bool soaked = true;                  // the first soak has been given
    bool reported_dry = false;           // a person says that it is dry on top
    int owed_s = 0;                      // rest of a run that was split
    WallTime not_before;                 // rest between runs, soak
    std::optional<Bar> bar;              // until then no run, or none at all
    std::optional<int> most_s;           // of one run; none: the zone's longest
};

struct ZonePlan {
    enum class Verdict { run, wait, withhold };
    Verdict verdict = Verdict::wait;
    Reason reason = Reason::damp_enough;
    std::optional<WallTime> start; // of the run, at `now` or later
    int run_s = 0;
    int owed_s = 0;                 // to be given after a soak
    std::optional<WallTime> dry_at; // when it would be too dry without that run
    bool late = false;              // the run cannot begin before it is dry
    bool ahead = false;             // needed or not: the tap would not suffice later
    double threshold_kpa = 0;
    double depletion = 0;            // at `dry_at`, else what is allowed; for root_zone_used
    std::optional<BookShare> book;   // at `dry_at`, where it is the book that says so
    std::optional<WallTime> rain_at; // next likely rain
    double rain_mm = 0;
    double left_to_rain_mm = 0; // so much less than fills the roots' water, where rain may come
    // The roots have used too much, and what has come since sinks to them until then.
    std::optional<WallTime> sinks_until;
    WallTime looked_until;
    std::optional<Bar> bar; // that made it late, or forbids it
    // Given past the evening limit, because it could else begin only then.
    std::optional<WallTime> else_at;
};

// After water has come it sinks to the roots for hours, in which they are not judged again: until
// when, if it does at `now`. For zones whose roots are judged.
std::optional<WallTime> sinks_until(std::optional<WallTime> last_wetted, WallTime now);

struct PlanContext {
    WallTime now;
    Hours hours; // from the hour of `now` on; at least 24 of them
    const garden::Garden* garden = nullptr;
    const TimeZone* timezone = nullptr;
};

// One plan per task, in their order.
std::vector<ZonePlan> plan(const PlanContext& context, std::span<const ZoneTask> tasks);

} // namespace firstmow::watering
