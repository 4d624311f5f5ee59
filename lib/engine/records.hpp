// Everything that the engine gives out: commands to valves, and records for the journal.
#pragma once

#include "base/time.hpp"
#include "turf/phase.hpp"
#include "watering/estimate.hpp"
#include "weather/hour.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace firstmow::engine {

// --- Commands --------------------------------------------------------------------------------
// Open a zone's valve for at most `lease`; whoever holds the valve (in the daemon the valve keeper)
// closes it at the end of that by itself.
struct OpenValve {
    std::string zone; // or garden::kMasterValve, garden::kPump
    Seconds lease{0};
};
struct CloseValve {
    std::string zone;
};
using Command = std::variant<OpenValve, CloseValve>;

// --- Records ---------------------------------------------------------------------------------
// How an opening of a valve ended.
enum class Outcome : std::uint8_t {
    completed,   // ran as long as planned
    stopped,     // a person ended it
    interrupted, // the program died or restarted meanwhile
    failed,      // the valve did not obey
};
std::string_view key(Outcome outcome);
std::optional<Outcome> outcome_by_key(std::string_view key);

// One opening of a valve. Written when it has ended.
struct Cycle {
    std::int64_t id = 0; // 1, 2, ... over the garden
    std::string zone;
    WallTime start;
    WallTime end;
    int planned_s = 0;
    int run_s = 0;
    double depth_mm = 0; // gross mean over the zone
    double volume_l = 0;
    std::string reason; // code, see explain.hpp
    Outcome outcome = Outcome::completed;
    bool operator==(const Cycle&) const = default;
};

// What was decided for a zone, and why. Written when the decision differs from the one before.
enum class Verdict : std::uint8_t {
    run,      // the valve opens now
    plan,     // a run is planned for `start`
    wait,     // no run is needed as far as the forecast reaches
    withhold, // a run is needed and not given (hold, hours, supply, ...): the reason says why
};
std::string_view key(Verdict verdict);
std::optional<Verdict> verdict_by_key(std::string_view key);

struct Decision {
    WallTime time;
    std::string zone;
    Verdict verdict = Verdict::wait;
    std::optional<WallTime> start; // of the run that it speaks of
    int run_s = 0;
    std::string reason;      // code
    std::string explanation; // one plain English sentence, local times
    bool operator==(const Decision&) const = default;
};

// The budget of a zone at `time`; flows are sums since the line before. Every 10 minutes, once the
// hour's weather is known. The mean column, but for low_quarter_kpa.
struct Moisture {
    WallTime time;
    std::string zone;
    turf::Phase phase{};
    double seed_zone_mm = 0;
    double seed_zone_kpa = 0;
    double low_quarter_kpa = 0;
    double root_zone_mm = 0;   // all water in the modelled soil and on it: puddles, leaves, straw
    double evaporation_mm = 0; // negative when dew outweighs it
    double transpiration_mm = 0;
    double rain_mm = 0;
    double applied_mm = 0;
    double runoff_mm = 0;
    double drainage_mm = 0;
    double soil_temp_c = 0; // at seed depth
    // What the driest quarter's seed zone should have stayed above; 0 when the root zone was judged
    // instead. Kept in the journal only, the files do not carry it.
    double threshold_kpa = 0;
    bool operator==(const Moisture&) const = default;
};

struct PhaseRecord {
    WallTime time;
    std::string zone;
    turf::Phase from{};
    turf::Phase to{};
    std::string why;
    bool operator==(const PhaseRecord&) const = default;
};

// An hour of weather as it was used, with the reference ET made from it.
struct WeatherUsed {
    weather::Hour hour;
    double et_short_mm = 0;
    // The ids of the sources that gave temperature, humidity, wind, sun and rain, a blank between
    // them, '-' for none ("station station - forecast station"); empty where none gave anything.
    std::string sources{};
    bool operator==(const WeatherUsed&) const = default;
};

// An hour of the forecast, as it was thought of from `known` on. Written when that changed:
// the forecast at a moment is, hour by hour, the newest by then.
struct ForecastSaid {
    WallTime known;
    weather::Hour hour;
    std::string sources{}; // as in WeatherUsed
    bool operator==(const ForecastSaid&) const = default;
};

// Something a person should know.
enum class Severity : std::uint8_t { note, warning, alarm };
std::string_view key(Severity severity);
std::optional<Severity> severity_by_key(std::string_view key);
struct Notice {
    WallTime time;
    std::string zone; // empty: the whole garden
    Severity severity = Severity::note;
    std::string code;
    std::string text; // one sentence
    bool operator==(const Notice&) const = default;
};

// What made a zone's own factors change.
enum class Cause : std::uint8_t {
    surface_dry,
    puddling,
    catch_cans,
    soil_probe,
    undone,   // a person took the last one back
    set_back, // a person took all back
};
std::string_view key(Cause cause);
std::optional<Cause> cause_by_key(std::string_view key);

// A change of a zone's own factors (watering/estimate.hpp), by one hundredth of one of them or
// more.
struct Correction {
    WallTime time;
    std::string zone;
    Cause cause = Cause::surface_dry;
    watering::Factors before;
    watering::Factors after;
    std::string why; // one sentence
    bool operator==(const Correction&) const = default;
};

using Record = std::variant<Cycle, Decision, Moisture, PhaseRecord, WeatherUsed, Notice,
                            ForecastSaid, Correction>;

} // namespace firstmow::engine
