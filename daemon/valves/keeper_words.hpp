// What the keeper's reasons mean to a person.
#pragma once

#include "keeper/protocol.hpp"

#include <string>

namespace firstmow::valves {

std::string words_of_why(keeper::Why why);

} // namespace firstmow::valves
