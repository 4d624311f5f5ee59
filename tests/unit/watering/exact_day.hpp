// A whole day of the planner, planned again as it goes, beside the best that an exhaustive search
// finds for the same beds on the same tap. The search tries every choice of starts on a coarse grid
// and of a few lengths; each slot serves one bed. Dry minutes by day count first, each times what
// drying costs the bed (watering/shortfall.hpp: weight), then water. Both days are lived by the
// same steps, to the opening of the tap on the next morning.
#pragma once

#include "trial_task.hpp"
#include "watering/shortfall.hpp"

#include <limits>
#include <memory>
#include <utility>

namespace firstmow::trial {

// What a day costs, one bed or all of them together.
struct Toll {
    double deadly_min = 0; // dry while the sun is up, where drying kills
    double dry_min = 0;    // the same elsewhere
    double water_mm = 0;
    Toll operator+(const Toll& more) const {
        return {deadly_min + more.deadly_min, dry_min + more.dry_min, water_mm + more.water_mm};
    }
    double cost_min() const {
        return watering::weight(watering::AtStake::stand) * deadly_min +
               watering::weight(watering::AtStake::time) * dry_min;
    }
    bool operator<(const Toll& other) const {
        return std::pair(cost_min(), water_mm) < std::pair(other.cost_min(), other.water_mm);
    }
};
inline constexpr double kEver = std::numeric_limits<double>::infinity();

// Where the search may put runs: one bed in each slot, from its beginning on.
struct Grid {
    WallTime from;
    Seconds slot{0};
    int slots = 0;
    std::vector<Seconds> lengths;
    WallTime end; // of the day that is judged

    WallTime at(int slot_index) const { return from + slot_index * slot; }
};

// Two bare seedbeds on a clear day of 35 C, on a tap that feeds one at a time, open for so long
// from 6:00 on, where it is then; watered through the night before. Of `sprouted` radicles are out
// and nothing is up.
struct BusyDay {
    soil::TextureClass first;
    soil::TextureClass second;
    double rate_mm_per_h;
    Seconds open;
    std::optional<std::size_t> sprouted;
};
std::unique_ptr<Planning> busy_day(const BusyDay& day);

// Plans every quarter of an hour, when a run is due and when one has ended, and carries it out.
Toll planned_day(Planning& planning, WallTime end);

// The best day on the grid, lived by the beds themselves. `most` is of each bed alone; what takes
// more is not looked at. `certain`: what was left out costs more water with one bed than all this.
struct BestDay {
    Toll toll;
    bool certain = false;
};
BestDay best_day(Planning& planning, const Grid& grid, const Toll& most);

} // namespace firstmow::trial
