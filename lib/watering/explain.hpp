// A plan in words: one plain English sentence that a gardener understands, in local time.
#pragma once

#include "watering/planner.hpp"

#include <string>

namespace firstmow::watering {

// `now` decides whether a time needs its day beside it.
std::string explain(const ZonePlan& plan, const ZoneTask& task, const TimeZone& local,
                    WallTime now);

// What forbids a run, as a clause: "the zone rests until 14:05".
std::string bar_words(const Bar& bar, const TimeZone& local, WallTime now);

// "14:05", or "Tue 14:05" when it is another day than `now`.
std::string clock_words(WallTime t, const TimeZone& local, WallTime now);
// "7 min", "1 h 20 min".
std::string duration_words(int seconds);

} // namespace firstmow::watering
