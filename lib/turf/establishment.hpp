// How far an establishment has come: thermal time of every species, cover, roots, and the phase.
//
// A value that is advanced with the soil's temperature and wetness at seed depth and with what
// people report. tau is thermal time on the radicle scale: 1 = half the radicles out, a species'
// `emergence_factor` (about 2.1) = half its seedlings visible, 1.19 times that = all up (nine
// tenths). It is gathered by the book; own_tau() is what it means for this lot of seed, whose speed
// reports teach (seed_lot.hpp, learning.hpp). `_cd` in a name is thermal time in degree-days (deg C
// above a base, times days).
//
// The slowest important species (share >= 0.1 of the mix) governs the phase; drying kills from
// the first radicle of the fastest one. Sources and formulas: thermal_time.hpp, growth.hpp,
// stand.hpp, needs.cpp; what is to be expected and when: prospect.hpp.
#pragma once

#include "base/time.hpp"
#include "turf/phase.hpp"
#include "turf/seed_lot.hpp"
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
    nothing_yet,    // looked for seedlings and saw none
    mown,           // any other mow: of the turf that is overseeded, or a later one
};
std::string_view key(ObservationKind kind);
std::optional<ObservationKind> observation_by_key(std::string_view key);

struct SpeciesProgress {
    Species species{};
    double share = 0;         // 0..1 of the mix
    double tau = 0;           // thermal time by the book, radicle scale
    double growth_cd = 0;     // thermal time of growth since half its seedlings were visible
    double root_depth_mm = 0; // front of its roots
    double mow_cd = 0;        // thermal time of growth since all of it was up
    // By the model: when the first of it were to be seen, half of it was up, and nine tenths.
    std::optional<WallTime> first_green;
    std::optional<WallTime> half_up;
    std::optional<WallTime> all_up;
    double tau_per_day = 0; // what it gathers in a day, over the last day or so
    // Thermal time as it stood at the end of each 24 h since the sowing, until all is long up: what
    // the past of the emergence curve is drawn from.
    std::vector<double> tau_by_day;
    // This lot's thermal time over the book's, as it is believed now (1: as the book says), and
    // how sure that is.
    double slowness = 1;
    LotBelief belief{};
    // Survivors of each class of the lot, 0..1, of what can come up at all: in the driest quarter
    // of the zone and in the rest of it.
    LotShares alive_driest{};
    LotShares alive_rest{};
    bool operator==(const SpeciesProgress&) const = default;
};
// Progress of the median seed of this lot, on the radicle scale.
inline double own_tau(const SpeciesProgress& species) {
    return species.tau / species.slowness;
}

// A share below this does not keep the lawn waiting, unless no share reaches it.
inline constexpr double kImportantShare = 0.1;

struct Progress {
    Method method = Method::none;
    Phase phase = Phase::mature;
    WallTime phase_since;
    std::optional<WallTime> sown;           // begin of establishment; none for a grown-in lawn
    std::vector<SpeciesProgress> species;   // of the mix, in its order
    std::optional<WallTime> seedlings_seen; // first report
    std::optional<WallTime> half_up;        // half of the whole mix emerged (modelled)
    std::optional<WallTime> all_up;         // slowest important species emerged (modelled)
    std::optional<WallTime> first_mow;      // reported, or assumed when long due
    bool first_mow_assumed = false;
    std::optional<WallTime> rooted; // sod: reported, or assumed when long due
    bool rooted_assumed = false;
    // Turf that was overseeded: ground that it covers, growth since it was cut, degree-days.
    double standing_cover = 0;
    double standing_cd = 0;
    std::optional<WallTime> last_mown; // any mow since the day of sowing or laying
    double growth_cd = 0;              // thermal time of growth since all_up, for sod since laying
    double cover_fraction = 0; // green ground cover, 0..1, old turf of an overseeding included
    double root_depth_mm = 0;  // where the zone drinks: mean of the mix, old turf included
    // At seed depth, mean over the last days (time constant two days), and its swing around that:
    // half of the range of a day. Nothing before the first hour.
    std::optional<double> soil_mean_c;
    double soil_swing_c = 0;
    // How far the water has been drawn back: 0 = kept damp by the hour, 1 = as a lawn at its
    // first mow, 2 = as an ordinary lawn. Never jumps, whatever is reported.
    double hardening = 0;
    bool operator==(const Progress&) const = default;
};

// A change of phase, with one sentence on why.
struct PhaseChange {
    Phase from{};
    Phase to{};
    std::string why;
};

struct MixShare {
    Species species{};
    double share = 0;
};

// `start` is local midnight of the day of sowing or laying; until then nothing advances, reports
// are not taken and needs() asks for nothing. `seed` and `overseed` need a mix.
Progress begin(Method method, const std::vector<MixShare>& mix, WallTime start);

// False before the day of sowing or laying. A grown-in lawn or bed is always under way.
bool under_way(const Progress& progress, WallTime now);

// The seed zone during a step. Potentials in kPa; above 0 counts as 0.
struct Bed {
    double temp_c = 0;
    double driest_kpa = 0;   // of the driest quarter: governs progress
    double mean_kpa = 0;     // of the zone
    double washed_share = 0; // of the loose seed, carried off in this step (washed_share())
};

// Lets `dt` pass, ending at `now`. Returns a change of phase when one falls due; at most one per
// call, so steps should be short against a phase (an hour or less).
std::optional<PhaseChange> advance(Progress& progress, const Bed& bed, Seconds dt, WallTime now);
// The same with one wetness everywhere.
std::optional<PhaseChange> advance(Progress& progress, double soil_temp_c, double seed_zone_kpa,
                                   Seconds dt, WallTime now);

// Takes a report at `now`.
// first_mow       The new grass was mown for the first time: ends the seedling phase, and is
//                 believed whenever it comes. In an overseeding where not all of the new grass is
//                 up it was the standing turf that was mown, and is taken so.
// mown            Any other mow. Where the first mow of the new grass is due, it is that.
// rooted          Ends rooting, and so does a mow.
// seedlings_seen  The first time: teaches the speed of the lot (learning.hpp). When no seed of it
//                 could be up it teaches nothing (seedlings_seen stays empty then), and the
//                 quickest species only counts as sprouted. What it says of a quick species never
//                 ends the damp phase of a slow one.
// nothing_yet     Teaches the speed of the lot, as long as no seedlings were reported.
// surface_dry and puddling change nothing here. A report may raise roots and cover (what is mown
// has both); only cutting standing turf lowers cover.
std::optional<PhaseChange> observe(Progress& progress, ObservationKind kind, WallTime now);

// A zone grows as warm-season turf when most of its mix is.
bool warm_season(const Progress& progress);

// A radicle of an important species may be out and not all are up: the seed zone must not dry.
bool drying_kills(const Progress& progress);

// What drying does to most seeds of a species now (stand.hpp).
enum class Danger : std::uint8_t { imbibing, radicle_out, rooted };
std::string_view key(Danger danger);
Danger danger_of(const SpeciesProgress& species);

// Share (0..1) of the seedlings that could have come, which are up and alive.
double up_share(const SpeciesProgress& species);
// The same at the end of each 24 h since the sowing, by what is believed of the lot and known of
// its survivors now.
std::vector<double> up_by_day(const SpeciesProgress& species);
// Share (0..1) of the seeds, sprouted or not, that are alive: 1 unless drying or washing took some.
struct Stand {
    double alive = 1; // over the zone
    double alive_driest_quarter = 1;
};
Stand stand_of(const Progress& progress);
double stand_of(const SpeciesProgress& species);

// Share of the loose seed that this much run-off carries away. No threshold or rate is published
// for a fresh bed; assumed: 1 % for each mm that runs off at a slope of 5 %, in proportion to the
// slope, a fifth of that under straw or a blanket (a field report: bare seed washed on a slope at
// 2 in/h, seed under straw stayed).
double washed_share(double runoff_mm, double slope_pct, Cover cover);

// All are up, and the quickest important grass of the mix has its height: it is the tallest that is
// mown (K-State: at 3-4 in; Cornell: 60 % of the grass at 2-3 in). Sod: when it resists a tug by
// the model. False when the first mow is over.
bool ready_for_first_mow(const Progress& progress);
// Overseeding before the first mow: the standing turf has grown long enough to shade.
bool standing_turf_wants_cut(const Progress& progress);

// The way to "all up" of the slowest important species, for sod to resisting a tug: 0..100.
double progress_pct(const Progress& progress);

// Days until all are up (sod: until it resists a tug) in soil that stays wet and has this mean
// temperature; 0 afterwards; nothing when it never would at that temperature.
std::optional<double> days_to_all_up(const Progress& progress, double mean_soil_temp_c);

// Drier than any soil gets: a threshold that never asks for water.
inline constexpr double kNoThresholdKpa = -1e6;

// What the phase asks of the water. Within a phase and where phases meet nothing jumps, except
// the two switches: what is judged, and whether there is a longest gap.
struct Needs {
    // The driest quarter's seed zone (damp phases) or root zone (later) shall not get drier; of a
    // mature zone it is the mean that is judged.
    double threshold_kpa = -100;
    bool judge_root_zone = false; // false: the seed zone; true: the depth wetted below
    double wet_depth_mm = 25;     // a run should wet to this depth
    // Between runs on a drying day; 0 = no such bound. Only a bound: thresholds and depletion
    // decide when to water, and this keeps a model that errs from letting young grass go dry. The
    // damp phases have none because their threshold is judged by the hour, a grown-in lawn has
    // none because it tells by its colour.
    Seconds longest_gap{0};
    // The last run of a day ends at least this long before sunset, but where a seedbed would be
    // dry.
    Seconds before_sunset{0};
    // Of the root zone's available water, when judge_root_zone; it decides together with
    // threshold_kpa, whichever is reached first.
    double allowed_depletion = 0;
};
Needs needs(const Progress& progress, WallTime now);

} // namespace firstmow::turf
