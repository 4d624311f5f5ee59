// A weather source: asked now and then, gives what is new. A new kind implements this.
#pragma once

#include "engine/inputs.hpp"

#include <string>
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
};

} // namespace firstmow::weather_source
