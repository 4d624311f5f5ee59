// The book of a grown-in lawn's root zone, kept beside the column: FAO-56 Eq. 85 to 88.
//
// A column of the mean properties of its class drains beyond field capacity for a week where it is
// clay, and grass drinks of that. But field capacity is what soil in the field, with its cracks and
// worm holes, still holds two or three days after it was wetted through: what is beyond it has gone
// by then. So a grown-in lawn is not planned on it. The book counts from field capacity: what went
// into the air, less what came in and stayed. Surplus serves its own day (Eq. 88 takes the day's
// ETc off first) and has drained by its end, at solar midnight.
//
// Both the depth (Zr) and the water of the soil (TAW, Eq. 82) are those of the column.
#pragma once

#include "soil/column.hpp"
#include "watering/demand.hpp"

namespace firstmow::watering {

struct RootBook {
    // Depletion Dr: used since field capacity, at most `holds_mm`; below 0 the day's surplus.
    double used_mm = 0;
    bool operator==(const RootBook&) const = default;
};

// Begins with what the column lacks now, down to `depth_mm`.
RootBook begin_book(const soil::Column& column, const soil::ColumnState& mean, double depth_mm);

// Enters a step that begins at `from` in `hour` and brought `flows`. `holds_mm`: TAW.
void enter(RootBook& book, const HourDemand& hour, WallTime from, const soil::Flows& flows,
           double holds_mm);

} // namespace firstmow::watering
