// A weather source: asked now and then, gives what is new. A new kind implements this.
#pragma once

#include "base/result.hpp"
#include "engine/inputs.hpp"
#include "weather/parcel.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace firstmow::weather_source {

// What a look at the source brought.
struct News {
    std::vector<weather::Hour> passed;   // complete hours that have passed, in order
    std::vector<weather::Hour> ahead;    // the forecast, when it changed; else empty
    std::vector<engine::Remark> remarks; // what a person should know of the source
};

class Source {
public:
    virtual ~Source() = default;
    // Looks for what is new at `now`. Called on the control loop: bounded, quick, no network.
    virtual News look(WallTime now) = 0;

    // What a station sent to the daemon's own port, for the source of that id (empty: the first
    // that is told so). An Error says what is wrong with it.
    virtual Status push(std::string_view id, std::string_view text, bool json, WallTime now) {
        (void)id, (void)text, (void)json, (void)now;
        return Error{"the garden file names no weather source of kind \"push\"; one under "
                     "[[weather.source]] would be right"};
    }
    // What the garden's own sensors measured of hours that have passed.
    virtual void take(const weather::Parcel& parcel, WallTime now) { (void)parcel, (void)now; }
    // What it has, from where, how old, and what it thinks of it: JSON; empty when it keeps none.
    virtual std::string report(WallTime now) const {
        (void)now;
        return {};
    }
    // What it wants to have again after a restart; empty when nothing.
    virtual std::string save() const { return {}; }
    virtual void take_up(std::string_view saved) { (void)saved; }
};

} // namespace firstmow::weather_source
