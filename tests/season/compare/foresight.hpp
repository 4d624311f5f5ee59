// The best schedule with perfect foresight on the judge's own column: a yardstick for planners.
//
// Dynamic programming forwards in time over slots of half an hour. A label is a bed that can be
// (a whole profile of the judge), what it has cost (water, and a price on every counted hour in
// which the driest quarter is drier than its threshold), and how it came about. In each slot in
// which the tap may run it is left alone or given one of a few run lengths. Of labels that are
// alike in what the top 3, 10 and 40 mm hold the cheapest goes on; one that costs no less than
// another, holds no more in the latter two and has no drier crust is dropped; of more than `width`
// those spread best over what they hold are kept. That makes it a good schedule and not a proven
// best one: `dropped` says how many were, and a greater width shows what it cost.
//
// With `bound` the same gives a lower bound instead. Nothing is dropped that is not drier at every
// node and no cheaper; labels that are alike are merged into one that has the lower cost and, node
// by node, the wetter bed. A wetter bed never needs more water (but for the error of the solution's
// steps), so no schedule of such runs costs less than the cheapest label at the end. The finer the
// cells and the greater the width, the nearer the two come to each other. It holds for days whose
// surface is as warm under every schedule (no BedDays::own).
#pragma once

#include "compare/schedule.hpp"

namespace firstmow::compare {

struct SearchOptions {
    std::size_t width = 30;
    std::vector<int> minutes{2, 3, 5, 8, 12, 20}; // run lengths, each at most a slot
    double price_mm_per_dry_h = 10;
    double price_mm_per_start = 0; // to see what few starts cost in water
    // What is held is compared in cells of these sizes.
    double cell_10_mm = 0.08, cell_40_mm = 0.5;
    // Runs are not tried on a bed that holds so much more than at its threshold.
    double ample_mm = 1.2;
    bool bound = false;
};

struct Foresight {
    Sprinkling sprinkling; // with `bound` of no use
    double cost_mm = 0;    // water, priced hours and priced starts
    double water_mm = 0;   // mean over the zone
    double dry_h = 0;
    long labels = 0;  // looked at
    long dropped = 0; // or merged, for want of width
};
Foresight foresee(const JudgedBed& bed, const BedDays& days, const SearchOptions& options);

} // namespace firstmow::compare
