// What is to be expected of an establishment, and when: first green, half up, all up of each
// species and of the mix, the first mow, rooting, the ordinary lawn, each as a date with the range
// that it will most likely fall into.
//
// Pure: from how far it has come and what the soil is thought to be on the days ahead. Two things
// are not known: the speed of each lot (its belief, seed_lot.hpp) and how much warmer or colder it
// will be than thought. Sixteen futures, spread evenly over both, each lot's speed apart from the
// others', run through advance() in soil that stays damp; a date's range is the 10th to the 90th
// percentile of them. Same inputs, same dates; warmer soil is never later below the optimum.
#pragma once

#include "turf/establishment.hpp"

#include <span>
#include <vector>

namespace firstmow::turf {

// The soil at seed depth over 24 hours; the first day begins now.
struct SoilDay {
    double mean_c = 0;
    double swing_c = 0; // half of the range between its coldest and its warmest
    double doubt_c = 0; // standard deviation of the mean of all days up to this one
};

// 10th, 50th and 90th percentile. What has happened already has all three equal. `late` is empty
// when more than a tenth of the futures do not see it within the days given, `likely` when half.
struct When {
    std::optional<WallTime> early;
    std::optional<WallTime> likely;
    std::optional<WallTime> late;
    bool operator==(const When&) const = default;
};

struct SpeciesProspect {
    Species species{};
    double share = 0;
    Danger danger{};
    double up = 0;    // share of the seedlings that could have come, up and alive
    double stand = 1; // share alive
    // Of the lot's thermal time over the book's: 10th, 50th, 90th percentile of the belief.
    double slowness_low = 1;
    double slowness = 1;
    double slowness_high = 1;
    When first_green; // about one in fifteen up: what a person first sees
    When half_up;
    When all_up; // nine tenths
    // Share up at the end of each 24 h since the sowing, as it is believed now.
    std::vector<double> curve_past;
    // Share up at the end of each day ahead, 10th, 50th and 90th percentile, until the likely share
    // no longer grows.
    std::vector<double> curve_low;
    std::vector<double> curve;
    std::vector<double> curve_high;
};

struct Prospect {
    std::vector<SpeciesProspect> species; // in the order of the mix; none for sod and mature turf
    std::optional<WallTime> sown;         // when the past of the curves begins
    When first_green;                     // of the quickest important species
    When half_up;                         // half of the seedlings of the whole mix
    When all_up;                          // of the slowest important species: the phase follows it
    When rooted;                          // sod resists a tug
    When first_mow;                       // due
    When grown_in;                        // waters like an ordinary lawn
};

// `days`: at most a year of them is looked at. Empty fields where nothing is being established.
Prospect prospect(const Progress& progress, WallTime now, std::span<const SoilDay> days);

} // namespace firstmow::turf
