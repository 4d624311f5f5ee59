// What people report, and how the model yields to it.
#include "base/check.hpp"
#include "turf/establishment.hpp"
#include "turf/mix.hpp"
#include "turf/phase_change.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <array>

namespace firstmow::turf {

namespace {

// First green is the early part of emergence: at this part of the way to half the seedlings.
constexpr double kFirstGreen = 0.85;

struct KindKey {
    ObservationKind kind;
    std::string_view key;
};
constexpr std::array<KindKey, 5> kKinds{{
    {ObservationKind::seedlings_seen, "seedlings_seen"},
    {ObservationKind::first_mow, "first_mow"},
    {ObservationKind::rooted, "rooted"},
    {ObservationKind::surface_dry, "surface_dry"},
    {ObservationKind::puddling, "puddling"},
}};

std::optional<PhaseChange> report_seedlings(Progress& progress, WallTime now) {
    if (progress.method == Method::sod) return std::nullopt;
    if (!progress.seedlings_seen) progress.seedlings_seen = now;
    const SpeciesProgress* first = fastest(progress);
    const double first_green = traits(first->species).emergence_factor * kFirstGreen;
    for (SpeciesProgress& species : progress.species)
        if (&species == first) species.tau = std::max(species.tau, first_green);
    std::optional<PhaseChange> change = next_phase(progress, now);
    if (change) change->why = "Seedlings were reported: the grass is coming up, drying kills it.";
    return change;
}

// Whatever the model holds, what is mown is up, covers ground and has roots.
void take_as_mown(Progress& progress, WallTime now) {
    progress.first_mow = now;
    progress.first_mow_assumed = false;
    progress.cover_fraction = std::max(progress.cover_fraction, kCoverAtFirstMow);
    if (progress.method == Method::sod) return;
    for (SpeciesProgress& species : progress.species) {
        species.tau = std::max(species.tau, all_up_tau(traits(species.species)));
        species.root_depth_mm = std::max(species.root_depth_mm, kRootsAtFirstMowMm);
    }
    progress.root_depth_mm = std::max(progress.root_depth_mm, kRootsAtFirstMowMm);
    if (!progress.all_up) progress.all_up = now;
}

std::optional<PhaseChange> report_first_mow(Progress& progress, WallTime now) {
    switch (progress.phase) {
    case Phase::pre_germination:
    case Phase::emergence:
    case Phase::seedling:
        take_as_mown(progress, now);
        return move_to(progress, Phase::post_first_mow, now, "The first mow was reported.");
    case Phase::rooting:
        take_as_mown(progress, now);
        progress.rooted = now;
        progress.rooted_assumed = false;
        return move_to(progress, Phase::post_first_mow, now,
                       "The first mow was reported, so the sod resists a tug.");
    case Phase::post_first_mow:
    case Phase::mature:
        if (!progress.first_mow || progress.first_mow_assumed) take_as_mown(progress, now);
        return std::nullopt;
    }
    return std::nullopt;
}

std::optional<PhaseChange> report_rooted(Progress& progress, WallTime now) {
    if (progress.method != Method::sod) return std::nullopt;
    if (!progress.rooted || progress.rooted_assumed) progress.rooted = now;
    progress.rooted_assumed = false;
    if (progress.phase != Phase::rooting) return std::nullopt;
    return move_to(progress, Phase::post_first_mow, now, "The sod was reported to resist a tug.");
}

} // namespace

std::string_view key(ObservationKind kind) {
    const auto* found = std::ranges::find(kKinds, kind, &KindKey::kind);
    CHECK(found != kKinds.end());
    return found->key;
}

std::optional<ObservationKind> observation_by_key(std::string_view key) {
    const auto* found = std::ranges::find(kKinds, key, &KindKey::key);
    if (found == kKinds.end()) return std::nullopt;
    return found->kind;
}

std::optional<PhaseChange> observe(Progress& progress, ObservationKind kind, WallTime now) {
    // The old lawn is mown before it is overseeded: nothing said before the day of sowing is
    // about the new grass.
    if (progress.method == Method::none || !under_way(progress, now)) return std::nullopt;
    switch (kind) {
    case ObservationKind::seedlings_seen:
        return report_seedlings(progress, now);
    case ObservationKind::first_mow:
        return report_first_mow(progress, now);
    case ObservationKind::rooted:
        return report_rooted(progress, now);
    case ObservationKind::surface_dry:
    case ObservationKind::puddling:
        break;
    }
    return std::nullopt;
}

} // namespace firstmow::turf
