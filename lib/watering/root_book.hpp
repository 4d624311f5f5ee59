// The book of a grown-in lawn's root zone, kept beside the column: FAO-56 Eq. 85 to 88.
//
// A column of the mean properties of its class drains beyond field capacity for a week where it is
// clay, and grass drinks of that. But field capacity is what soil in the field, with its cracks and
// worm holes, still holds two or three days after it was wetted through: what is beyond it has gone
// by then. So a grown-in lawn is not planned on it. The book counts from field capacity: what went
// into the air, less what came in and stayed. Surplus serves its own day (Eq. 88 takes the day's
// ETc off first) and has drained by its end, at solar midnight.
//
// What rises from below (CR of Eq. 85) counts as long as the subsoil has it to lend. FAO-56 leaves
// it out where no water table is near; but roots that dry their soil draw on what lies under it,
// and a subsoil at field capacity or drier has that water to give after days as well. It lends no
// more than a part of TAW (default), and gets it back first of what drains past the roots. So a
// lawn may wait a little longer for rain, and one that is watered through a drought gains by it
// only once.
//
// Both the depth (Zr) and the water of the soil (TAW, Eq. 82) are those of the column.
#pragma once

#include "soil/column.hpp"
#include "watering/demand.hpp"
#include "watering/interception.hpp"

namespace firstmow::watering {

struct RootBook {
    // Depletion Dr: used since field capacity, at most `holds_mm`; below 0 the day's surplus.
    double used_mm = 0;
    double lent_mm = 0; // risen from below and not given back; 0 to most_lent_mm()
    bool operator==(const RootBook&) const = default;
};

// Begins with what the column lacks now, down to `depth_mm`.
RootBook begin_book(const soil::Column& column, const soil::ColumnState& mean, double depth_mm);

// Enters a step that begins at `from` in `hour` and brought `flows`. `holds_mm`: TAW.
void enter(RootBook& book, const HourDemand& hour, WallTime from, const soil::Flows& flows,
           double holds_mm);
// Of the same step what rose from below (0 and more), as much of it as may be lent.
void lend(RootBook& book, double rise_mm, double most_lent_mm);
double most_lent_mm(double holds_mm);

// The water of a zone over `depth_mm`: on leaves, in straw, on the soil and in it.
double kept_mm(const soil::Column& column, const soil::ColumnState& mean, const Held& held,
               double depth_mm);
// What rose past `depth_mm` in a step that brought `flows`, found `before_mm` over it and left
// `after_mm`; `mean` as it left it. Out of soil that is wetter than field capacity: nothing.
double rise_mm(const soil::Column& column, const soil::ColumnState& mean, double depth_mm,
               const soil::Flows& flows, double before_mm, double after_mm);

} // namespace firstmow::watering
