// A renovation plan as JSON. Files are metric whatever people are shown.
#pragma once

#include "renovation/plan.hpp"

#include <string>

namespace firstmow::companion {

std::string plan_json(const renovation::Plan& plan);

} // namespace firstmow::companion
