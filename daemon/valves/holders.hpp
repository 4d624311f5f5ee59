// Who holds GPIO lines, for an error message: the kernel says only that somebody does.
#pragma once

#include <string>

namespace firstmow::valves {

// "process 123 (name), 456 (name)" of those that may be looked into, or "another program". Ends
// with what helps when one of them is the valve keeper.
std::string holders_of_gpio_lines();

} // namespace firstmow::valves
