// What people report, and how the model yields to it.
#include "base/check.hpp"
#include "turf/establishment.hpp"
#include "turf/growth.hpp"
#include "turf/learning.hpp"
#include "turf/mix.hpp"
#include "turf/phase_change.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <array>

namespace firstmow::turf {

namespace {

struct KindKey {
    ObservationKind kind;
    std::string_view key;
};
constexpr std::array<KindKey, 7> kKinds{{
    {ObservationKind::seedlings_seen, "seedlings_seen"},
    {ObservationKind::first_mow, "first_mow"},
    {ObservationKind::rooted, "rooted"},
    {ObservationKind::surface_dry, "surface_dry"},
    {ObservationKind::puddling, "puddling"},
    {ObservationKind::nothing_yet, "nothing_yet"},
    {ObservationKind::mown, "mown"},
}};

bool sown(const Progress& progress) {
    return progress.method == Method::seed || progress.method == Method::overseed;
}

std::optional<PhaseChange> report_seedlings(Progress& progress, WallTime now) {
    if (!sown(progress) || progress.seedlings_seen) return std::nullopt;
    // Green that no seed of this lot can be is something else, weeds or old grass, and teaches
    // nothing; but should the person be right, drying would kill: what comes first counts as
    // sprouted.
    if (learn_from_seedlings(progress)) {
        progress.seedlings_seen = now;
    } else {
        const SpeciesProgress* first = fastest(progress);
        for (SpeciesProgress& species : progress.species)
            if (&species == first)
                species.tau = std::max(species.tau, kFirstRadicleTau * species.slowness);
    }
    std::optional<PhaseChange> change = next_phase(progress, now);
    if (change && change->from == Phase::pre_germination)
        change->why = "Seedlings were reported: the grass is coming up, drying kills it.";
    return change;
}

// What nobody has seen before the report is still to be seen after it.
std::optional<PhaseChange> report_nothing(Progress& progress) {
    if (sown(progress) && !progress.seedlings_seen && !progress.all_up)
        learn_from_nothing(progress);
    return std::nullopt;
}

// Whatever the model holds, what is mown is up, covers ground and has roots.
void take_as_mown(Progress& progress, WallTime now) {
    progress.first_mow = now;
    progress.first_mow_assumed = false;
    progress.cover_fraction = std::max(progress.cover_fraction, kCoverAtFirstMow);
    if (progress.method == Method::sod) return;
    for (SpeciesProgress& species : progress.species) {
        species.tau = std::max(species.tau, species.slowness * all_up_tau(traits(species.species)));
        species.root_depth_mm = std::max(species.root_depth_mm, kRootsAtFirstMowMm);
    }
    progress.root_depth_mm = std::max(progress.root_depth_mm, kRootsAtFirstMowMm);
    if (!progress.all_up) progress.all_up = now;
}

// The turf that was overseeded is cut back; light comes to the seedlings and it drinks less.
void cut_standing_turf(Progress& progress) {
    if (progress.method != Method::overseed) return;
    const double standing = std::min(progress.standing_cover, kStandingTurfMown);
    const double fresh =
        (progress.cover_fraction - progress.standing_cover) / (1 - progress.standing_cover);
    progress.cover_fraction = standing + (1 - standing) * std::clamp(fresh, 0.0, 1.0);
    progress.standing_cover = standing;
    progress.standing_cd = 0;
}

std::optional<PhaseChange> report_first_mow(Progress& progress, WallTime now) {
    cut_standing_turf(progress);
    progress.last_mown = now;
    switch (progress.phase) {
    case Phase::pre_germination:
    case Phase::emergence:
        // Between seedlings that are not all up it was the standing turf that was mown.
        if (progress.method == Method::overseed) return std::nullopt;
        [[fallthrough]];
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

std::optional<PhaseChange> report_mown(Progress& progress, WallTime now) {
    const bool first = progress.phase == Phase::seedling &&
                       (progress.method != Method::overseed || ready_for_first_mow(progress));
    if (first || progress.phase == Phase::rooting) return report_first_mow(progress, now);
    cut_standing_turf(progress);
    progress.last_mown = now;
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
    case ObservationKind::nothing_yet:
        return report_nothing(progress);
    case ObservationKind::mown:
        return report_mown(progress, now);
    case ObservationKind::surface_dry:
    case ObservationKind::puddling:
        break;
    }
    return std::nullopt;
}

} // namespace firstmow::turf
