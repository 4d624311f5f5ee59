#include "turf/mix.hpp"

#include "turf/growth.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>

namespace firstmow::turf {

namespace {
// Tug test at 10-14 days (extension services), taken at the late end at 20 deg C.
constexpr double kKnitDays = 14;
} // namespace

bool important(const Progress& progress, const SpeciesProgress& species) {
    if (species.share >= kImportantShare) return true;
    return std::ranges::none_of(progress.species, [](const SpeciesProgress& other) {
        return other.share >= kImportantShare;
    });
}

double emergence_fraction(const SpeciesProgress& species) {
    return own_tau(species) / all_up_tau(traits(species.species));
}

const SpeciesProgress* slowest(const Progress& progress) {
    const SpeciesProgress* found = nullptr;
    for (const SpeciesProgress& species : progress.species) {
        if (!important(progress, species)) continue;
        if (found == nullptr || emergence_fraction(species) < emergence_fraction(*found))
            found = &species;
    }
    return found;
}

const SpeciesProgress* fastest(const Progress& progress) {
    const auto field_cd = [](const SpeciesProgress& species) {
        const SpeciesTraits& kind = traits(species.species);
        return kind.thermal_time_cd * kind.emergence_factor;
    };
    const SpeciesProgress* found = nullptr;
    for (const SpeciesProgress& species : progress.species) {
        if (!important(progress, species)) continue;
        if (found == nullptr) {
            found = &species;
            continue;
        }
        const double ahead = emergence_fraction(species) - emergence_fraction(*found);
        if (ahead > 0 || (ahead == 0 && field_cd(species) < field_cd(*found))) found = &species;
    }
    return found;
}

double shallowest_roots_mm(const Progress& progress) {
    if (progress.method == Method::sod || progress.species.empty()) return progress.root_depth_mm;
    double least = kDeepestRootsMm;
    for (const SpeciesProgress& species : progress.species)
        if (important(progress, species)) least = std::min(least, species.root_depth_mm);
    return least;
}

MowDue first_mow_due(const Progress& progress) {
    MowDue due;
    for (const SpeciesProgress& species : progress.species) {
        if (!important(progress, species)) continue;
        const SpeciesTraits& kind = traits(species.species);
        const double growth_cd = kind.first_mow_days * good_day_cd(warm_season(progress));
        if (growth_cd > due.growth_cd) due = {&kind, growth_cd};
    }
    return due;
}

bool warm_season(const Progress& progress) {
    double warm = 0;
    double all = 0;
    for (const SpeciesProgress& species : progress.species) {
        all += species.share;
        if (traits(species.species).warm_season) warm += species.share;
    }
    return warm > all / 2;
}

double knit_cd(const Progress& progress) {
    return kKnitDays * good_day_cd(warm_season(progress));
}

} // namespace firstmow::turf
