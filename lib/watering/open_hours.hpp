// When water may run at all: the supply's hours and days in local time, and the evening limit of
// a zone's phase.
#pragma once

#include "base/timezone.hpp"
#include "garden/garden.hpp"

#include <vector>

namespace firstmow::watering {

struct Span {
    WallTime from;
    WallTime to;
};

// The spans between `from` and `until` in which a zone may be watered, in order. Each day's last
// span ends at `before_sunset` ahead of sunset, unless nothing would be left of that day's hours:
// then the owner's hours stand as they are.
std::vector<Span> open_spans(const garden::Supply& supply, const TimeZone& local,
                             const weather::Place& place, Seconds before_sunset, WallTime from,
                             WallTime until);

} // namespace firstmow::watering
