// Everything that the engine can be told. Whatever changes what it does arrives as one of these,
// and each is written to the journal: that is what makes a replay exact.
#pragma once

#include "base/time.hpp"
#include "engine/guards.hpp"
#include "engine/records.hpp"
#include "garden/sprinklers.hpp"
#include "turf/establishment.hpp"
#include "weather/hour.hpp"

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace firstmow::engine {

// An hour that has passed, complete. Hours come in order, without gaps.
struct HourObserved {
    weather::Hour hour;
};
// What is thought of the hours ahead; replaces the forecast before. Hours in order, without gaps.
struct ForecastArrived {
    std::vector<weather::Hour> hours;
};
// A person wants water now.
struct WaterOrder {
    std::string zone;
    int run_s = 0; // 1..14400
};
// Close now, and drop what a person ordered. An empty zone means all.
struct StopOrder {
    std::string zone;
};
// No water by plan until `until`; a person's own order still runs.
struct HoldOrder {
    std::string zone;
    WallTime until;
};
struct HoldRelease {
    std::string zone;
};
// A person will mow then: the ground shall be firm (watering/firm.hpp). Nothing takes it back.
struct MowPlan {
    std::string zone;
    std::optional<WallTime> at;
};
struct Observation {
    std::string zone;
    turf::ObservationKind kind{};
};
// What stood in cans that were set out on a zone, its valve open for so long, just now.
struct CatchCanTest {
    std::string zone;
    garden::CatchCans cans;
};
// A probe's reading, by a person or an instrument: one of the two values.
struct SoilProbe {
    std::string zone;
    double depth_mm = 50;                 // below the surface, 5..300
    std::optional<double> water_fraction; // volume of water per volume of soil, 0..0.7
    std::optional<double> kpa;            // matric potential, -1e5..0
};
// Takes back the last correction of a zone, or all that it ever learned.
struct CorrectionUndo {
    std::string zone;
    bool all = false;
};
// The driver's word on a valve.
struct ValveReport {
    std::string zone; // or garden::kMasterValve, garden::kPump
    bool open = false;
    bool fault = false; // the driver could not do it; `open` is its best knowledge
    std::string detail; // of a fault
    // Since when it is so, where the driver knows; it may be told late, as after a standstill.
    std::optional<MonoTime> since = std::nullopt;
};
// The program has started again: every valve is closed, whatever was open ended at an unknown
// moment between the last journal entry and now.
struct Restarted {};

// Everything closes and stays so until it is released; the button's word is the sensor's.
struct EmergencyStop {
    std::string why; // a clause: "a person pressed it on the page"
};
struct EmergencyRelease {};
// What a sensor of the garden file says: litres and mm are counted up since some beginning, the
// others as garden::SensorKind says.
struct SensorReading {
    std::string sensor;
    double value = 0; // in the sensor's unit, scale and offset applied
    WallTime at;      // when it was measured, by whoever did
};
// Whether the wall clock can be believed; until it is told, it is.
struct ClockState {
    bool trusted = true;
};

// Takes back what a person said last of a zone (state.hpp: LastWord), if it is still that: two who
// press at once take one thing back, not two.
struct WordUndo {
    std::string zone;
    std::int64_t number = 0; // LastWord::number
};

// Something that the shell noticed and a person should know.
struct Remark {
    Severity severity{};
    std::string code;
    std::string text; // one sentence
};

using Input = std::variant<HourObserved, ForecastArrived, WaterOrder, StopOrder, HoldOrder,
                           HoldRelease, Observation, ValveReport, Restarted, Remark, CatchCanTest,
                           SoilProbe, CorrectionUndo, EmergencyStop, EmergencyRelease,
                           SensorReading, ClockState, WordUndo, MowPlan>;

} // namespace firstmow::engine
