// Overseed, start over, or lay sod: what the lawn, its use and its slope speak for, and what each
// way costs in water and weeks.
//
// The line at about 30 % of desirable grass is common practice, no source; so are the lines of
// slope and traffic, except where advice.cpp names one.
#pragma once

#include "renovation/climate.hpp"
#include "renovation/quantities.hpp"
#include "renovation/timing.hpp"

#include <optional>
#include <string>
#include <vector>

namespace firstmow::renovation {

inline constexpr double kWorthKeepingPct = 30;

// One way to a lawn, begun on the zone's day.
struct Way {
    turf::Method method{};
    double water_mm = 0;
    double water_l = 0;
    std::optional<double> water_cost;
    std::optional<double> weeks_to_first_mow;
};

struct Advice {
    turf::Method method{};            // overseed, seed (start over) or sod
    std::vector<std::string> reasons; // full sentences
    std::vector<Way> ways;            // all three, for comparison
};

// Nothing when the file says neither how much grass is left nor that a lawn is wanted at once, or
// when the zone is mature. `timing` is that of the zone's own method on its day; whether the others
// would be in time then is looked at here.
std::optional<Advice> advise(const garden::Zone& zone, const garden::Renovation& renovation,
                             const Climate& climate, const Timing& timing, const Show& show);

// "overseed", "sow anew", "lay sod".
std::string_view name(turf::Method method);

} // namespace firstmow::renovation
