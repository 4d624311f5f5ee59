// Interlocks: what must be so before a zone's valve opens, whoever asks. Pure.
//
// Every opening, and every lengthening of one, goes through rule_on(); open_valve() asks it again
// as the last thing before its command. A plan is made with the same rules (plan_bar()), so that
// it does not run into them. The keeper has limits of its own behind these.
//
// SAFE-30 No more zones at once than the garden file says.
// SAFE-31 No more flow than the tap gives.
// SAFE-32 No opening longer than the zone's longest run, nor than the pump may run.
// SAFE-33 No more water in any 24 h than the garden file says.
// SAFE-34 No opening before the rest after the last one is over; also after a restart.
// SAFE-35 No opening in frost.
// SAFE-36 No opening while the emergency stop is latched; only a person releases it, also after a
//         restart, and not while its button is pressed.
// SAFE-37 No planned opening before the clock is believed.
// SAFE-38 No opening of a zone that an alarm has locked.
// SAFE-39 Master valve: open before a zone, closed after the last; its failure closes everything.
// SAFE-40 Pump: no start before its rest is over, never longer than its longest run, never dry.
#pragma once

#include "engine/engine.hpp"
#include "watering/planner.hpp"

namespace firstmow::engine {

enum class Asker : std::uint8_t { plan, person };

// The rule that forbids an opening of `run_s` now; nothing when it may be. For a zone that runs,
// `run_s` is its whole length, from its start.
std::optional<watering::Bar> rule_on(const Setup& setup, const State& state, const Moment& now,
                                     std::size_t zone, int run_s, Asker asker);

// What the planner must know: the rule that forbids any run of this zone now, and until when; and
// the longest run that would be allowed.
std::optional<watering::Bar> plan_bar(const Setup& setup, const State& state, const Moment& now,
                                      std::size_t zone);
int longest_allowed_s(const Setup& setup, const State& state, const Moment& now, std::size_t zone);

// Whether it passes by itself soon, so that a person's order may wait for it.
bool passes_soon(watering::Reason reason);

// The rate by which a day's water is counted: the garden file's, or what was learned where that is
// more; what is learned must not loosen an interlock.
double counted_rate_mm_per_h(const Setup& setup, const State& state, std::size_t zone);

// A rest of `rest_s` after `mark`: what is left of it, 0 when it is over.
Seconds rest_left(const std::optional<Moment>& mark, int rest_s, const Moment& now);

// After a restart the clock that never jumps begins anew.
void carry_over(State& state, const Moment& now);

} // namespace firstmow::engine
