// A feed: what brings the parcels of one source to the desk.
//
// collect() and status() are called on the control loop and return at once; a feed that talks over
// the network does so on a thread of its own.
#pragma once

#include "weather/parcel.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::weather_source {

struct FeedStatus {
    enum class State { starting, ok, failing };
    State state = State::starting;
    std::optional<WallTime> last_good;  // when it last brought something, or heard "unchanged"
    std::optional<WallTime> last_tried; // services
    std::optional<WallTime> next_try;   // services
    int failures = 0;                   // in a row
    std::string detail;                 // one sentence on what is wrong, or was last
};

class Feed {
public:
    virtual ~Feed() = default;
    // What has come since it was asked last; at most a few.
    virtual std::vector<weather::Parcel> collect(WallTime now) = 0;
    virtual FeedStatus status(WallTime now) const = 0;
};

} // namespace firstmow::weather_source
