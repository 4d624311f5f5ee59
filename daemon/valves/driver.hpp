// A valve driver: the hardware behind a channel. One small interface; add a kind in driver.cpp.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"

#include <memory>
#include <string>

namespace firstmow::valves {

class Driver {
public:
    virtual ~Driver() = default;
    // Brings the valve to this state, or says in one line why it could not. Called on the control
    // loop: must not block for longer than a few milliseconds.
    virtual Status set(bool open) = 0;
};

// The driver of a valve; relative file names are seen from the garden file's folder. The valve is
// not touched yet.
Result<std::unique_ptr<Driver>> make_driver(const garden::Valve& valve,
                                            const std::string& garden_path);

// Closes one valve by its own hand: for `firstmow off`, when no daemon runs or it is not trusted.
Status close_without_daemon(const garden::Valve& valve, const std::string& garden_path);

} // namespace firstmow::valves
