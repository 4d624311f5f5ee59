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
// One zone as above over `truth`, sown at that date.
struct BedKind {
    double seed_depth_mm = 6;
    std::vector<garden::MixPart> mix{{turf::Species::kentucky_bluegrass, 0.6},
                                     {turf::Species::perennial_ryegrass, 0.4}};
};
TrialSeason season_over(const weather::Place& place, const TimeZone& local,
                        std::vector<weather::Hour> truth, soil::TextureClass texture, Date sown,
                        int days, const BedKind& kind);
// Of the ground as the season begins: the mean of the air of the day before, or of the first where
// none is known. A single hour would begin it as hot as an afternoon or as cold as a night.
double ground_temp_c(const TrialSeason& season);
// Sun time to the hour, so that the garden's hours lie in its day.
TimeZone sun_zone(const weather::Place& place);

// Runs the season; what its valve did.
struct Opening {
    WallTime from;
    WallTime to;
};
std::vector<Opening> run_valves(const TrialSeason& season);
// The part of [from, to) in which it was open.
double open_share(const std::vector<Opening>& runs, WallTime from, WallTime to);

TrialSeason invented_season(const Options& options, soil::TextureClass texture, std::uint64_t seed);
// The season of options.weather; nothing, with a word on stderr, if it cannot be read.
std::optional<TrialSeason> measured_season(const Options& options, soil::TextureClass texture);

} // namespace firstmow::bench
