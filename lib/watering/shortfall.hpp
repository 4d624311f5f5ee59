// When it cannot be done: what is at stake in a zone that dries, for how long it does, and why.
#pragma once

#include "watering/planner.hpp"

#include <cstdint>
#include <optional>
#include <string_view>

namespace firstmow::watering {

// What drying costs, the worst last: in this order the tap is given away where it does not suffice.
enum class AtStake : std::uint8_t {
    looks,  // a grown-in lawn wilts and comes again
    time,   // seed that only swells waits
    growth, // rooted seedlings and fresh sod are set back
    stand,  // radicles are out and nothing is rooted: drying kills
};
std::string_view key(AtStake stake);
AtStake at_stake(const turf::Progress& progress);
// "drying kills what has sprouted" and the like.
std::string_view words(AtStake stake);

// What a dry spell costs, in runs (defaults): 9 for a stand, 2 for growth, 1.5 where seed only
// waits, 0.5 for looks.
double weight(AtStake stake);

// How what is still to come is taken, by what it costs to be wrong. To count on rain that stays
// away costs a dry spell; not to count on rain that comes costs a run. So p times the run must
// outweigh (1 - p) times the spell: a spell that costs nine runs asks for rain of 90 %.
struct Prudence {
    double rain_from = 0.6; // probability from which rain is counted on
    double caution = 1.5;   // ET is taken for higher by so many of its mean errors
};
Prudence prudence_of(AtStake stake);

// What keeps a run from beginning in time.
enum class Obstacle : std::uint8_t { hours, tap, frost, rest, hold };
std::string_view key(Obstacle obstacle);

// How dry it becomes before the plan's run begins (without one, as far as is looked).
struct DrySpell {
    WallTime from;
    WallTime until;
    Seconds dry{0};        // within it
    double lowest_kpa = 0; // of what is judged
    double most_used = 0;  // depletion, where the root zone is judged
    Obstacle obstacle{};
};
// Nothing when the run comes in time, or so soon after that it is no more than the model's error.
std::optional<DrySpell> dry_spell(const PlanContext& context, const ZoneTask& task,
                                  const ZonePlan& plan);

// The hours close the tap for three hours or more between ten and six (local time), and open it
// both before and after: a ban on watering at midday, which new lawns are often exempt from.
bool banned_at_midday(const garden::Supply& supply);

} // namespace firstmow::watering
