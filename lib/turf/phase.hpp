// The names of phases, methods and covers. When one phase gives way to the next stands in
// phase_change.hpp, what a phase asks of the water in needs() of establishment.hpp.
#pragma once

#include <cstdint>
#include <string_view>

namespace firstmow::turf {

enum class Phase : std::uint8_t {
    pre_germination, // seed is down, the slowest species has no radicle yet
    emergence,       // radicles of all out, seedlings coming up: drying kills
    seedling,        // all up, before the first mow
    post_first_mow,  // tapering to deeper and rarer
    mature,          // ordinary lawn or bed
    rooting,         // sod that does not yet resist a tug
};

std::string_view key(Phase phase);  // as files and the API write it
std::string_view name(Phase phase); // as people read it

enum class Method : std::uint8_t { seed, overseed, sod, none };
enum class Cover : std::uint8_t { none, straw, blanket };

} // namespace firstmow::turf
