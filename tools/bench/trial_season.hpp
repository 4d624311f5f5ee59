// A season to run: one bare-sown zone without straw, a generous tap, invented or measured weather.
#pragma once

#include "bench.hpp"

#include "sim/season.hpp"
#include "soil/texture.hpp"

#include <cstdint>

namespace firstmow::bench {

struct TrialSeason {
    engine::Setup setup;
    sim::SeasonPlan plan;
};
TrialSeason invented_season(const Options& options, soil::TextureClass texture, std::uint64_t seed);
// The season of options.weather; nothing, with a word on stderr, if it cannot be read.
std::optional<TrialSeason> measured_season(const Options& options, soil::TextureClass texture);

} // namespace firstmow::bench
