// How far an establishment has come: thermal time of every species, cover, roots, and the phase.
//
// A value that is advanced with the soil's temperature and wetness at seed depth and with what
// people report. tau is thermal time on the radicle scale: 1 = half the radicles out, a species'
// `emergence_factor` (about 2.1) = half its seedlings visible.
#pragma once

#include "base/time.hpp"
#include "turf/phase.hpp"
#include "turf/species.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::turf {

// What people report from the lawn.
enum class ObservationKind : std::uint8_t {
    seedlings_seen, // first green
    first_mow,      // mown for the first time
    rooted,         // sod resists a tug
    surface_dry,    // looks dry on top
    puddling,       // water stands
};
std::string_view key(ObservationKind kind);
std::optional<ObservationKind> observation_by_key(std::string_view key);

struct SpeciesProgress {
    Species species{};
    double share = 0; // 0..1 of the mix
    double tau = 0;   // thermal time, radicle scale
    bool operator==(const SpeciesProgress&) const = default;
};

struct Progress {
    Method method = Method::none;
    Phase phase = Phase::mature;
    WallTime phase_since;
    std::optional<WallTime> sown;           // begin of establishment
    std::vector<SpeciesProgress> species;   // of the mix, in its order
    std::optional<WallTime> seedlings_seen; // reported
    std::optional<WallTime> all_up;         // slowest important species emerged (modelled)
    std::optional<WallTime> first_mow;      // reported, or assumed when long due
    bool first_mow_assumed = false;
    double growth_cd = 0;      // thermal time (base 5 C) since all_up / since laying for sod
    double cover_fraction = 0; // green ground cover, 0..1
    double root_depth_mm = 0;
    bool operator==(const Progress&) const = default;
};

// A change of phase, with one sentence on why.
struct PhaseChange {
    Phase from{};
    Phase to{};
    std::string why;
};

// `start` is local midnight of the day of sowing or laying.
struct MixShare {
    Species species{};
    double share = 0;
};
Progress begin(Method method, const std::vector<MixShare>& mix, WallTime start);

// Lets `dt` pass, ending at `now`, at this temperature (deg C) and matric potential (kPa, <= 0)
// of the seed zone. Returns a change of phase when one falls due.
std::optional<PhaseChange> advance(Progress& progress, double soil_temp_c, double seed_zone_kpa,
                                   Seconds dt, WallTime now);

// Takes a report at `now`. `first_mow` is what ends the seedling phase; `rooted` what ends
// rooting; `seedlings_seen` moves the fastest species to emergence and never ends the damp phase
// of a slower one. surface_dry and puddling change nothing here.
std::optional<PhaseChange> observe(Progress& progress, ObservationKind kind, WallTime now);

// What the phase asks of the water; moves gradually within a phase, so that nothing jumps.
struct Needs {
    // The driest quarter's seed zone (damp phases) or root zone (later) shall not get drier.
    double threshold_kpa = -100;
    bool judge_root_zone = false; // false: the seed zone; true: the depth wetted below
    double wet_depth_mm = 25;     // a run should wet to this depth
    Seconds longest_gap{0};       // between runs on a drying day; 0 = no such bound
    Seconds before_sunset{0};     // the last run of a day ends at least this long before sunset
    double allowed_depletion = 0; // of the root zone's available water, when judge_root_zone
};
Needs needs(const Progress& progress, WallTime now);

} // namespace firstmow::turf
