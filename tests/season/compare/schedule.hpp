// A bed under a schedule of sprinkling, judged: how long its driest quarter was dry, and where the
// water went.
#pragma once

#include "compare/beds.hpp"

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

// Weather over it, in steps of kStep_s; supply is rain alone.
struct BedDays {
    std::vector<soil::SurfaceForcing> steps;
    std::vector<bool> counts; // dryness counts: by daylight, once the first soak could be given
    std::vector<bool> open;   // the tap may run
};

// For every step the part of it in which the valve is open, 0..1.
using Sprinkling = std::vector<double>;

// A grid for long searches. Beside usual_grid() (five days, sand and loam, hot and warm, three runs
// a day) it is within 0.6 % in evaporation and within 2 % in the hours below -100 and -500 kPa, at
// a tenth of the cost.
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
