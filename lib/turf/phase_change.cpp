#include "turf/phase_change.hpp"

#include "base/text.hpp"
#include "turf/mix.hpp"
#include "turf/thermal_time.hpp"

#include <chrono>
#include <utility>

namespace firstmow::turf {

namespace {

constexpr double kMowAssumedAfter = 1.5;    // times the growth that the first mow takes
constexpr double kRootedAssumedAfter = 2.0; // times the growth that knitting takes

std::string whole(double value) {
    return fixed(value, 0);
}

std::string sentence(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
        text[0] = static_cast<char>(text[0] - 'a' + 'A');
    return text;
}

std::optional<PhaseChange> end_pre_germination(Progress& progress, WallTime now) {
    for (const SpeciesProgress& species : progress.species)
        if (important(progress, species) && own_tau(species) < kFirstRadicleTau)
            return std::nullopt;
    const SpeciesProgress& last = *slowest(progress);
    const SpeciesTraits& kind = traits(last.species);
    return move_to(progress, Phase::emergence, now,
                   sentence(std::string(kind.name) + " has gathered " +
                            whole(last.tau * kind.thermal_time_cd) + " of the " +
                            whole(last.slowness * kind.thermal_time_cd) +
                            " degree-days to half its radicles: the first are out, and drying "
                            "kills them."));
}

std::optional<PhaseChange> end_emergence(Progress& progress, WallTime now) {
    const SpeciesProgress& last = *slowest(progress);
    if (emergence_fraction(last) < 1) return std::nullopt;
    const SpeciesTraits& kind = traits(last.species);
    progress.all_up = now;
    return move_to(progress, Phase::seedling, now,
                   sentence(std::string(kind.name) + " has gathered " +
                            whole(last.tau * kind.thermal_time_cd) + " of " +
                            whole(all_up_tau(kind) * last.slowness * kind.thermal_time_cd) +
                            " degree-days: all up."));
}

std::optional<PhaseChange> end_seedling(Progress& progress, WallTime now) {
    const MowDue due = first_mow_due(progress);
    if (progress.growth_cd < kMowAssumedAfter * due.growth_cd) return std::nullopt;
    progress.first_mow = now;
    progress.first_mow_assumed = true;
    return move_to(progress, Phase::post_first_mow, now,
                   "No first mow was reported in " + whole(progress.growth_cd) +
                       " degree-days since all were up, and " + std::string(due.traits->name) +
                       " is ready for it in " + whole(due.growth_cd) + ": taken as mown.");
}

std::optional<PhaseChange> end_rooting(Progress& progress, WallTime now) {
    if (progress.growth_cd < kRootedAssumedAfter * knit_cd(progress)) return std::nullopt;
    progress.rooted = now;
    progress.rooted_assumed = true;
    return move_to(progress, Phase::post_first_mow, now,
                   "No tug test was reported in " + whole(progress.growth_cd) +
                       " degree-days since laying, and sod roots in " + whole(knit_cd(progress)) +
                       ": taken as rooted.");
}

std::optional<PhaseChange> end_post_first_mow(Progress& progress, WallTime now) {
    if (progress.hardening < 2) return std::nullopt;
    const double days = std::chrono::duration<double>(now - progress.phase_since).count() / 86400;
    return move_to(progress, Phase::mature, now,
                   "The water was drawn back over " + whole(days) + " days and the roots reach " +
                       whole(shallowest_roots_mm(progress)) +
                       " mm: from here it is an ordinary lawn.");
}

} // namespace

PhaseChange move_to(Progress& progress, Phase phase, WallTime now, std::string why) {
    PhaseChange change{progress.phase, phase, std::move(why)};
    progress.phase = phase;
    progress.phase_since = now;
    return change;
}

std::optional<PhaseChange> next_phase(Progress& progress, WallTime now) {
    switch (progress.phase) {
    case Phase::pre_germination:
        return end_pre_germination(progress, now);
    case Phase::emergence:
        return end_emergence(progress, now);
    case Phase::seedling:
        return end_seedling(progress, now);
    case Phase::post_first_mow:
        return end_post_first_mow(progress, now);
    case Phase::rooting:
        return end_rooting(progress, now);
    case Phase::mature:
        break;
    }
    return std::nullopt;
}

} // namespace firstmow::turf
