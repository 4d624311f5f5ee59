// What a look at the bed teaches about the speed of its seed. Inside of the turf room.
//
// A person who looks sees green with a probability that rises with the share of seedlings that are
// up: 1 - exp(-up / 3 %). "Nothing yet" is judged by that alone (2 of 100 overlook what is there).
// "I see seedlings", the first time, also says that looks before saw nothing: they are taken to
// have been a day ago (1/2), two (3/10) or three (1/5), and one report in seven comes late. Each
// species is judged with the beliefs in the others averaged out, exactly; afterwards they are held
// independent again. Green teaches only about species that could be showing it: one that is much
// less likely to be up than another learns nothing, so that an early ryegrass never hurries a
// bluegrass. All of these numbers are defaults.
#pragma once

#include "turf/establishment.hpp"

namespace firstmow::turf {

// True when it was believed: at least one species could be showing.
bool learn_from_seedlings(Progress& progress);
void learn_from_nothing(Progress& progress);

} // namespace firstmow::turf
