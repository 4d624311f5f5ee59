// An input line of a GPIO chip, with edges that the kernel has stamped (GPIO character device,
// ABI v2). Behind an interface, so that tests can play the line.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"
#include "sensors/contact.hpp"

#include <memory>
#include <vector>

namespace firstmow::sensors {

class Line {
public:
    virtual ~Line() = default;
    virtual int descriptor() const = 0; // becomes readable with an edge
    // The edges since the last call, oldest first; never waits. An Error: the line is lost.
    virtual Result<std::vector<Edge>> edges() = 0;
    virtual Result<bool> active() = 0;
};

// The chip by label, name or path, as for valves.
Result<std::unique_ptr<Line>> open_line(const garden::Sensor& sensor);

} // namespace firstmow::sensors
