// A bed under a schedule of sprinkling, judged: how long its driest quarter was dry, and where the
// water went.
#pragma once

#include "compare/beds.hpp"
#include "watering/zone_model.hpp"

#include <optional>
#include <vector>

namespace firstmow::compare {

// The bed and what waters it.
struct JudgedBed {
    soil::Composition soil;
    double seed_depth_mm = 10;
    double threshold_kpa = -100;
    double start_kpa = -200;
    double start_temp_c = 15;
    double pond_capacity_mm = 1.5;
    double rate_mm_per_h = 12; // mean, while the valve is open
    double low_quarter = 0.65; // share of it that the driest quarter gets
};

// What makes the surface warm: the weather, and how wet it is. The engine's zone is watered alike
// and tells how warm its skin is and what covers it.
struct ZoneWeather {
    watering::ZoneSpec spec;
    watering::ZoneState start;
    WallTime from;
    std::vector<watering::HourDemand> hours; // of each step
};

// Weather over it, in steps of kStep_s; supply is rain alone.
struct BedDays {
    std::vector<soil::SurfaceForcing> steps;
    // If there, every schedule has a surface of its own in place of those of `steps`: what is
    // watered less is warmer and loses more vapour, which a schedule must not be spared.
    std::optional<ZoneWeather> own;
    std::vector<bool> counts; // dryness counts: by daylight, once the first soak could be given
    std::vector<bool> open;   // the tap may run
};

// For every step the part of it in which the valve is open, 0..1.
using Sprinkling = std::vector<double>;

// A bed's surface on its way through the days.
class BedSurface {
public:
    explicit BedSurface(const BedDays& days); // which outlive it
    // Under that share of an open valve; steps in order, from 0.
    soil::SurfaceForcing next(std::size_t step, double share);
    // What of `rate_mm_per_h` reaches the ground in the weather of that step
    // (watering/air_loss.hpp): more than the rate says in still damp air, less in wind. As it is
    // where the surface is given.
    double ground_mm_per_h(std::size_t step, double rate_mm_per_h) const;

private:
    const BedDays* days_;
    std::optional<watering::ZoneState> state_;
};

// A grid for long searches: as fine at the surface as usual_grid(), with less than half its nodes.
// A grid of 0.5 mm there is quicker by a third, but what a search finds on it is dry for half an
// hour to an hour on the usual one (14 days, sandy loam in humid weather; 0.1 h on this one).
const judge::Grid& quick_grid();
judge::Profile judged_profile(const judge::Medium& medium, const JudgedBed& bed,
                              const judge::Grid& grid);
judge::Surface judged_surface(const soil::SurfaceForcing& forcing, double sprinkling_mm_per_h);

struct Outcome {
    double counted_h = 0;
    double dry_h = 0;         // of the driest quarter, of the hours that count
    double dry_500_h = 0;     // below -500 kPa
    double longest_500_h = 0; // longest spell of it, nights included, after the first that counts
    double water_mm = 0;      // mean over the zone
    int starts = 0;
    // Of the mean of the zone.
    double evaporation_mm = 0;
    double deeper_mm = 0; // gained below 50 mm, and drained
    double runoff_mm = 0;
    double dry_share() const { return counted_h > 0 ? dry_h / counted_h : 0; }
};
Outcome judge_schedule(const JudgedBed& bed, const BedDays& days, const Sprinkling& sprinkling,
                       const judge::Grid& grid);

// Three runs a day of one length, that length chosen in hindsight: the shortest (whole minutes, at
// most 60) with which no more than `dry_share` of the hours are dry, or else the least dry one.
// `starts` are indices of steps.
struct FixedTimer {
    int minutes = 0;
    Sprinkling sprinkling;
};
FixedTimer best_fixed_timer(const JudgedBed& bed, const BedDays& days,
                            const std::vector<std::size_t>& starts, double dry_share);

} // namespace firstmow::compare
