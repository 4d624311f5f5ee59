#include "turf/establishment.hpp"

#include "base/check.hpp"
#include "turf/growth.hpp"
#include "turf/mix.hpp"
#include "turf/phase_change.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::turf {

namespace {

constexpr double kStandingTurfCover = 0.35;  // engineering default: worn lawn, mown short
constexpr double kStandingTurfRootsMm = 100; // engineering default
constexpr double kSodRootsMm = 20;           // as thick as it is cut
constexpr double kSodRootsWaitDays = 5;      // then 5-10 mm a day
constexpr double kSodRootsMmPerDay = 7;
constexpr double kTaperDays = 49;    // good days from first mow to ordinary lawn: 6-8 weeks
constexpr double kSodTaperDays = 28; // sod: weeks 3 to 6
constexpr double kCatchUp = 4;       // a mow reported early: the taper hurries so much

double species_roots_mm(const SpeciesProgress& species, const SpeciesTraits& kind,
                        double soil_temp_c, double days) {
    if (species.tau < 1) return species.root_depth_mm;
    const double emerging = (species.tau - 1) / (kind.emergence_factor - 1);
    const double primary = kRootsAtEmergenceMm * std::min(emerging, 1.0);
    if (emerging < 1) return std::max(species.root_depth_mm, primary);
    const double grown =
        species.root_depth_mm + kind.root_mm_per_day * root_rate(kind, soil_temp_c) * days;
    return std::min(std::max(primary, grown), kDeepestRootsMm);
}

void advance_species(SpeciesProgress& species, double soil_temp_c, double seed_zone_kpa,
                     double days) {
    const SpeciesTraits& kind = traits(species.species);
    species.root_depth_mm = species_roots_mm(species, kind, soil_temp_c, days);
    if (species.tau >= kind.emergence_factor)
        species.growth_cd += growth_cd_per_day(kind.warm_season, soil_temp_c) * days;
    species.tau += germination_cd_per_day(kind, soil_temp_c) / kind.thermal_time_cd *
                   water_factor(kind, seed_zone_kpa) * days;
}

// Cover and roots of the whole zone from those of its species; neither ever shrinks.
void update_stand(Progress& progress) {
    if (progress.method == Method::sod) {
        const double good_days = progress.growth_cd / good_day_cd(warm_season(progress));
        const double grown =
            kSodRootsMm + kSodRootsMmPerDay * std::max(0.0, good_days - kSodRootsWaitDays);
        progress.root_depth_mm = std::max(progress.root_depth_mm, std::min(grown, kDeepestRootsMm));
        return;
    }
    double shares = 0;
    double cover = 0;
    double roots_mm = 0;
    for (const SpeciesProgress& species : progress.species) {
        const SpeciesTraits& kind = traits(species.species);
        shares += species.share;
        cover += species.share *
                 canopy_fraction(kind, species.growth_cd / good_day_cd(kind.warm_season));
        roots_mm += species.share * species.root_depth_mm;
    }
    const double standing = progress.method == Method::overseed ? kStandingTurfCover : 0;
    progress.cover_fraction = std::max(progress.cover_fraction,
                                       standing + (1 - standing) * std::min(cover / shares, 1.0));
    progress.root_depth_mm = std::max(progress.root_depth_mm, roots_mm / shares);
}

// Draws the water back by `growth_cd`, no further than the phase and the roots allow.
void harden(Progress& progress, double growth_cd) {
    double& hardening = progress.hardening;
    const double roots_mm = shallowest_roots_mm(progress);
    switch (progress.phase) {
    case Phase::seedling: {
        const double grown = progress.growth_cd / first_mow_due(progress).growth_cd;
        const double rooted =
            (roots_mm - kRootsAtEmergenceMm) / (kRootsAtFirstMowMm - kRootsAtEmergenceMm);
        hardening = std::max(hardening, std::min({grown, rooted, 1.0}));
        break;
    }
    case Phase::rooting:
        hardening = std::max(hardening, std::min(progress.growth_cd / knit_cd(progress), 1.0));
        break;
    case Phase::post_first_mow: {
        const double taper_days = progress.method == Method::sod ? kSodTaperDays : kTaperDays;
        const double pace = hardening < 1 ? kCatchUp : 1;
        const double grown =
            hardening + pace * growth_cd / (taper_days * good_day_cd(warm_season(progress)));
        hardening = std::max(hardening, std::min({grown, 1 + roots_mm / kDeepestRootsMm, 2.0}));
        break;
    }
    case Phase::pre_germination:
    case Phase::emergence:
    case Phase::mature:
        break;
    }
}

} // namespace

Progress begin(Method method, const std::vector<MixShare>& mix, WallTime start) {
    Progress progress;
    progress.method = method;
    progress.phase_since = start;
    double shares = 0;
    for (const MixShare& part : mix) {
        CHECK(part.share >= 0);
        shares += part.share;
        progress.species.push_back({.species = part.species, .share = part.share});
    }
    if (method != Method::none) progress.sown = start;
    switch (method) {
    case Method::none:
        progress.phase = Phase::mature;
        progress.cover_fraction = 1;
        progress.root_depth_mm = kDeepestRootsMm;
        progress.hardening = 2;
        break;
    case Method::seed:
    case Method::overseed:
        CHECK(shares > 0);
        progress.phase = Phase::pre_germination;
        if (method == Method::overseed) {
            progress.cover_fraction = kStandingTurfCover;
            progress.root_depth_mm = kStandingTurfRootsMm;
        }
        break;
    case Method::sod:
        progress.phase = Phase::rooting;
        progress.cover_fraction = 1;
        progress.root_depth_mm = kSodRootsMm;
        break;
    }
    return progress;
}

bool under_way(const Progress& progress, WallTime now) {
    return !progress.sown || now >= *progress.sown;
}

std::optional<PhaseChange> advance(Progress& progress, double soil_temp_c, double seed_zone_kpa,
                                   Seconds dt, WallTime now) {
    CHECK(dt >= Seconds{0});
    CHECK(std::isfinite(soil_temp_c) && std::isfinite(seed_zone_kpa));
    if (progress.method == Method::none || !under_way(progress, now)) return std::nullopt;
    dt = std::min(dt, now - *progress.sown);
    const double days = static_cast<double>(dt.count()) / 86400;

    const double growth_cd = growth_cd_per_day(warm_season(progress), soil_temp_c) * days;
    if (progress.method == Method::sod || progress.all_up) progress.growth_cd += growth_cd;
    if (progress.method != Method::sod)
        for (SpeciesProgress& species : progress.species)
            advance_species(species, soil_temp_c, seed_zone_kpa, days);
    update_stand(progress);
    harden(progress, growth_cd);
    return next_phase(progress, now);
}

bool drying_kills(const Progress& progress) {
    if (progress.method == Method::none || progress.method == Method::sod) return false;
    if (progress.all_up || progress.first_mow) return false;
    return std::ranges::any_of(progress.species, [&](const SpeciesProgress& species) {
        return important(progress, species) && species.tau >= kFirstRadicleTau;
    });
}

double progress_pct(const Progress& progress) {
    if (progress.method == Method::none) return 100;
    if (progress.method == Method::sod)
        return progress.rooted ? 100 : 100 * std::min(progress.growth_cd / knit_cd(progress), 1.0);
    return 100 * std::min(emergence_fraction(*slowest(progress)), 1.0);
}

std::optional<double> days_to_all_up(const Progress& progress, double mean_soil_temp_c) {
    if (progress.method == Method::none) return 0.0;
    if (progress.method == Method::sod) {
        const double missing_cd = knit_cd(progress) - progress.growth_cd;
        if (progress.rooted || missing_cd <= 0) return 0.0;
        const double rate = growth_cd_per_day(warm_season(progress), mean_soil_temp_c);
        if (rate <= 0) return std::nullopt;
        return missing_cd / rate;
    }
    double days = 0;
    for (const SpeciesProgress& species : progress.species) {
        const SpeciesTraits& kind = traits(species.species);
        const double missing_cd = (all_up_tau(kind) - species.tau) * kind.thermal_time_cd;
        if (!important(progress, species) || missing_cd <= 0) continue;
        const double rate = germination_cd_per_day(kind, mean_soil_temp_c);
        if (rate <= 0) return std::nullopt;
        days = std::max(days, missing_cd / rate);
    }
    return days;
}

} // namespace firstmow::turf
