// How much of a grown-in lawn's refill is better left to rain. Inside of the room.
//
// Rain that falls on a full soil is lost by the end of its day (root_book.hpp). So a refilling run
// leaves as much room as the rain that is foreseen would otherwise lose, hour by hour as much as it
// is likely to bring (amount by probability by what of such rain came in its hour so far), after
// what the grass uses until then and on that day. Where no rain is foreseen it leaves none: roots
// want water deep and rare.
#pragma once

#include "watering/outlook.hpp"

namespace firstmow::watering {

// Of a run of `run_s` that would fill the roots' water at `then`; 0 to `most_mm`. `then`: with a
// book, as foreseen until the run begins.
double rain_room_mm(const Outlook& then, Hours hours, int run_s, double most_mm);

} // namespace firstmow::watering
