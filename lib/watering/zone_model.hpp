// A zone in the model: the mean of it and its driest quarter, the warmth of its soil, and how far
// its grass has come.
//
// Dryness is judged on the driest quarter (it gets the mean application times the lower-quarter
// distribution uniformity), washing and waste on the mean. Rain falls alike on both. A grown-in
// lawn is judged on the mean, and by a book beside it (root_book.hpp).
#pragma once

#include "watering/air_loss.hpp"
#include "watering/estimate.hpp"
#include "watering/interception.hpp"
#include "watering/root_book.hpp"

#include <optional>
#include <span>

namespace firstmow::watering {

// Model time goes in steps of this length, whatever the wake-ups of the program were.
inline constexpr Seconds kGrid{300};

struct ZoneSpec {
    soil::Column column;
    turf::Cover mulch = turf::Cover::none;
    double slope_pct = 0;
    double rate_mm_per_h = 0; // mean, while the valve is open
    double low_quarter = 1;   // share of it that the driest quarter gets
    Exposure exposure;        // when the sun reaches it
    double demand_factor = 1; // of evaporation and transpiration, over the model's
    Nozzle nozzle;
    // The loss in the air that has gone from rate_mm_per_h already: that of a catch-can test, or
    // none when the rate is what leaves the nozzles.
    double loss_in_rate = 0;
};
// `solar_ahead`: see exposure.hpp; needed where the garden file names hours of the clock.
ZoneSpec zone_spec(const garden::Zone& zone, Seconds solar_ahead = Seconds{0});
// The same with what was learned of the zone; uniformity stays within 0.1..1.
ZoneSpec corrected(const ZoneSpec& spec, const Factors& factors);

// What reaches the ground while the valve is open, mean of the zone: the rate, less what this
// hour's wind and dryness take beyond the loss that is in the rate.
double ground_rate_mm_per_h(const ZoneSpec& spec, const HourDemand& hour);

struct ZoneState {
    soil::ColumnState mean;
    soil::ColumnState low;
    Held mean_held; // on leaves and in straw
    Held low_held;
    soil::HeatState heat;
    Cooling cooling; // of the last step, mean
    // By how much the ground is warmer than `heat` has it, as sources of weather say.
    double warmer_c = 0;
    turf::Progress progress;
    std::optional<RootBook> book; // of the mean; only while the zone is mature
    bool operator==(const ZoneState&) const = default;
};
// Before the season: the soil at zone.soil_below_kpa throughout and at `temp_c`.
ZoneState initial_state(const garden::Zone& zone, const ZoneSpec& spec, double temp_c,
                        WallTime establishment_start);

struct ZoneStep {
    soil::Flows mean;
    soil::Flows low;
    bool leaves_wet = false; // at the end of the step, mean
    std::optional<turf::PhaseChange> phase_change;
};
// Lets `dt` pass, ending at `end`, inside the one hour that `hour` describes.
ZoneStep advance(const ZoneSpec& spec, ZoneState& state, const HourDemand& hour,
                 double applied_mm_per_h, Seconds dt, WallTime end);

// At the seed depth. What the model has there, put right by what a source says of the temperature
// at kSourceDepth_mm: by the mean error of about the last day, for the daily swing is the zone's
// own (its straw, its grass, its water), and the days' mean is the weather's. Within
// kMostWarmer_c either way; forgotten over days when the source falls silent. (Removal of a running
// bias, as of forecasts; span and bounds are ours.)
double seed_temp_c(const ZoneSpec& spec, const ZoneState& state);
inline constexpr double kSourceDepth_mm = 60;
inline constexpr double kMostWarmer_c = 5;

// How deep roots are judged: no less than the seed zone.
double roots_mm(const ZoneSpec& spec, const turf::Progress& progress);

// Refers to `spec`, which must outlive it.
SurfaceCover cover_of(const ZoneSpec& spec, const turf::Progress& progress);

} // namespace firstmow::watering
