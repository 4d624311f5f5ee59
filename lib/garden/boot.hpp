// What is known of outputs between power-on and the moment that this program takes them.
#pragma once

#include "garden/garden.hpp"

#include <string>
#include <vector>

namespace firstmow::garden {

// A sentence for each output that would switch on by itself while the board starts, or that a power
// cut would leave open. Only what the chip's data sheet says is known: silence is no promise.
std::vector<std::string> boot_cautions(const Garden& garden);

} // namespace firstmow::garden
