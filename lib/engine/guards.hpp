// What the interlocks and the sensors remember between two steps. Part of State.
//
// A moment is remembered on both clocks: rests and limits count on the one that never jumps; only
// over a restart, when that begins anew, does the wall clock say how long it was (carry_over()).
#pragma once

#include "base/time.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::engine {

// Now, on both clocks.
struct Moment {
    WallTime wall;
    MonoTime mono;
    bool operator==(const Moment&) const = default;
};

// Water that was given.
struct Poured {
    Moment end;
    double mm = 0; // gross mean over the zone
    bool operator==(const Poured&) const = default;
};

// Closed by an alarm or by a stop that latches, until a person says otherwise.
struct Latch {
    WallTime since;
    std::string why; // a clause, for sentences
    bool operator==(const Latch&) const = default;
};

struct ZoneGuard {
    std::optional<Moment> ended; // of the last opening
    std::vector<Poured> poured;  // in the last 24 h
    std::optional<Latch> lock;
    // The flow that the zone usually takes, learned from runs of its own.
    double usual_l_per_min = 0;
    int flow_runs = 0;        // that it was learned from
    double run_l = 0;         // of the present run, since the pipe has filled
    double run_min = 0;       // the same, minutes
    bool told_little = false; // too little flow was said of the present run
    bool operator==(const ZoneGuard&) const = default;
};

// The master valve, or the pump's relay.
struct SupplyLine {
    enum class Stage : std::uint8_t { closed, opening, open, closing };
    Stage stage = Stage::closed;
    Moment since;       // this stage; open: confirmed
    MonoTime asked;     // when the last command went out
    MonoTime lease_end; // until when it may stay open
    bool operator==(const SupplyLine&) const = default;
};

// The last that was believed of a sensor.
struct SensorState {
    std::string id;
    std::optional<Moment> heard;
    std::optional<Moment> changed; // when the value last changed
    double value = 0;
    int refused = 0; // readings in a row that could not be
    int jumps = 0;   // of them, in a row, those that were too far from it and near to each other
    double jumped_to = 0;
    bool silent = false;
    bool operator==(const SensorState&) const = default;
};

// The flow meter's count as it was at some moments, the newest last.
struct Count {
    MonoTime at;
    double litres = 0;
    bool operator==(const Count&) const = default;
};

// Rain of an hour as the gauge measured it.
struct GaugeHour {
    WallTime start;
    double mm = 0;
    Seconds watched{0}; // how much of the hour the gauge was heard of
    bool operator==(const GaugeHour&) const = default;
};

struct Guards {
    std::optional<Latch> stop; // the emergency stop
    bool button = false;       // it is pressed
    bool clock_trusted = true;
    SupplyLine master;
    SupplyLine pump;
    std::optional<Moment> pump_started;
    std::optional<Moment> last_closed; // of any zone
    std::optional<Moment> supply_failed;
    int supply_faults = 0;            // in a row
    std::vector<SensorState> sensors; // in the garden's order
    std::vector<Count> counts;
    std::optional<MonoTime> dry_since; // when the count last grew
    std::string last_zone;             // that was closed last
    std::vector<GaugeHour> gauge;      // at most 72, the newest last
    bool operator==(const Guards&) const = default;
};

} // namespace firstmow::engine
