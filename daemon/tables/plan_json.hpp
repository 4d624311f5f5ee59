// A renovation plan as JSON. Numbers are metric; the sentences, made for people, are in the units
// of the site.
#pragma once

#include "renovation/plan.hpp"

#include <string>

namespace firstmow::tables {

std::string plan_json(const renovation::Plan& plan);

} // namespace firstmow::tables
