// The daemon, put together: the one place that names every adapter.
#pragma once

#include "app/options.hpp"
#include "base/result.hpp"
#include "host/garden_file.hpp"

namespace firstmow::app {

// Runs until told to stop (SIGTERM, SIGINT); SIGHUP reads the garden file again. Returns the exit
// code: 0 stopped in order, 2 could not start (the reason has been printed as one line).
int run(const Options& options, host::GardenFile garden);

} // namespace firstmow::app
