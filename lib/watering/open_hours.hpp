// When water may run at all: the supply's hours and days in local time, and the evening limit of
// a zone's phase.
#pragma once

#include "base/timezone.hpp"
#include "garden/garden.hpp"

#include <optional>
#include <utility>
#include <vector>

namespace firstmow::watering {

struct Span {
    WallTime from;
    WallTime to;
};

// The sunsets of a stretch of days, looked up once for all zones.
class Evenings {
public:
    Evenings(const weather::Place& place, const TimeZone& local, WallTime from, WallTime until);
    // None in polar day or night, and outside of the stretch.
    std::optional<WallTime> sunset(Date date) const;

private:
    std::vector<std::pair<Date, std::optional<WallTime>>> days_;
};

// The spans between `from` and `until` in which a zone may be watered, in order. Each day's last
// span ends at `before_sunset` ahead of sunset, unless less than half an hour would be left of that
// day's hours: then the owner's hours stand as they are.
std::vector<Span> open_spans(const garden::Supply& supply, const TimeZone& local,
                             const Evenings& evenings, Seconds before_sunset, WallTime from,
                             WallTime until);

std::vector<Span> open_spans(const garden::Supply& supply, const TimeZone& local,
                             const weather::Place& place, Seconds before_sunset, WallTime from,
                             WallTime until);

} // namespace firstmow::watering
