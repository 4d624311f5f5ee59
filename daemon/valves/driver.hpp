// Valves as the garden file names them, and how they are closed without keeper or daemon. The
// drivers themselves are the keeper's (keeper/bank.hpp): add a kind there and in driver.cpp.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"
#include "keeper/protocol.hpp"

#include <string>
#include <vector>

namespace firstmow::valves {

// What the keeper is told of a valve; relative file names are seen from the garden file's folder.
Result<keeper::Setup> setup_of(const garden::Valve& valve, const std::string& garden_path);

// Where its relay is, for a person: "line 17 of GPIO chip pinctrl-bcm2711".
std::string place_of(const garden::Valve& valve, const std::string& garden_path);

// An errno of the keeper as a line for a person: which device, and what is wrong with it.
std::string words_of(const garden::Valve& valve, const std::string& garden_path, int error);

// SAFE-23 Closes valves by one's own hand, for `firstmow off`, and for the daemon when no keeper
// can be had. Every one is tried; the answers are in the order of the valves. All lines of a chip
// are taken in one request, so name all valves of a garden at once. Devices that take their time
// are asked side by side; ten seconds at most.
std::vector<Status> close_without_daemon(const std::vector<garden::Valve>& valves,
                                         const std::string& garden_path);
Status close_without_daemon(const garden::Valve& valve, const std::string& garden_path);

} // namespace firstmow::valves
