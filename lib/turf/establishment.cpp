#include "turf/establishment.hpp"

#include "base/check.hpp"
#include "turf/growth.hpp"
#include "turf/mix.hpp"
#include "turf/phase_change.hpp"
#include "turf/stand.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::turf {

namespace {

constexpr double kStandingTurfRootsMm = 100; // engineering default
constexpr double kSodRootsMm = 20;           // as thick as it is cut
constexpr double kSodRootsWaitDays = 5;      // then 5-10 mm a day
constexpr double kSodRootsMmPerDay = 7;
constexpr double kTaperDays = 49;    // good days from first mow to ordinary lawn: 6-8 weeks
constexpr double kSodTaperDays = 28; // sod: weeks 3 to 6
constexpr double kWarmthDays = 2;
constexpr double kFullStand = 0.7; // so much of a stand closes as well as a whole one (default)
constexpr double kCatchUp = 4;     // a mow reported early: the taper hurries so much
constexpr std::size_t kMostDaysKept = 240; // of the past of the emergence curve
constexpr double kLongUp = 1.5;            // over the thermal time of all up: the last are up

double species_roots_mm(const SpeciesProgress& species, const SpeciesTraits& kind,
                        double soil_temp_c, double days) {
    if (own_tau(species) < 1) return species.root_depth_mm;
    const double emerging = (own_tau(species) - 1) / (kind.emergence_factor - 1);
    const double primary = kRootsAtEmergenceMm * std::min(emerging, 1.0);
    if (emerging < 1) return std::max(species.root_depth_mm, primary);
    const double grown =
        species.root_depth_mm + kind.root_mm_per_day * root_rate(kind, soil_temp_c) * days;
    return std::min(std::max(primary, grown), kDeepestRootsMm);
}

void advance_species(SpeciesProgress& species, const Bed& bed, double days, double light) {
    const SpeciesTraits& kind = traits(species.species);
    advance_stand(species, bed, 24 * days);
    species.root_depth_mm = species_roots_mm(species, kind, bed.temp_c, days);
    if (own_tau(species) >= kind.emergence_factor) {
        const double growth_cd = light * growth_cd_per_day(kind.warm_season, bed.temp_c) * days;
        species.growth_cd += growth_cd;
        if (emergence_fraction(species) >= 1) species.mow_cd += growth_cd;
    }
    const double rate = germination_cd_per_day(kind, bed.temp_c) / kind.thermal_time_cd *
                        water_factor(kind, bed.driest_kpa);
    species.tau += rate * days;
    species.tau_per_day += (rate - species.tau_per_day) * (1 - std::exp(-days));
}

void note_moments(SpeciesProgress& species, WallTime now) {
    const SpeciesTraits& kind = traits(species.species);
    const auto note = [&](std::optional<WallTime>& moment, double tau) {
        const bool reached = own_tau(species) >= tau;
        if (reached && !moment) moment = now;
        // A report may have shown that it was not so far.
        if (!reached) moment.reset();
    };
    note(species.first_green, first_green_tau(kind));
    note(species.half_up, kind.emergence_factor);
    note(species.all_up, all_up_tau(kind));
}

// What is kept for the past of the emergence curve. Days that a saved state of before did not keep
// are drawn in evenly.
void keep_days(SpeciesProgress& species, WallTime sown, WallTime now) {
    std::vector<double>& days = species.tau_by_day;
    const double last = days.empty() ? 0 : days.back();
    if (last > kLongUp * species.slowness * all_up_tau(traits(species.species))) return;
    const auto over =
        std::min(static_cast<std::size_t>((now - sown).count() / 86400), kMostDaysKept);
    if (over <= days.size()) return;
    const std::size_t missing = over - days.size();
    for (std::size_t i = 1; i <= missing; ++i)
        days.push_back(
            std::lerp(last, species.tau, static_cast<double>(i) / static_cast<double>(missing)));
}

// Half of the seedlings that the whole mix could bring are up.
void note_half_up(Progress& progress, WallTime now) {
    double up = 0;
    double shares = 0;
    for (const SpeciesProgress& species : progress.species) {
        up += species.share * lot_share(own_tau(species), traits(species.species).emergence_factor);
        shares += species.share;
    }
    const bool reached = shares > 0 && up >= shares / 2;
    if (reached && !progress.half_up) progress.half_up = now;
    if (!reached) progress.half_up.reset(); // a report may have shown that it was not so far
}

// What the soil's temperature has been of late.
void remember_warmth(Progress& progress, double temp_c, double days) {
    const double weight = 1 - std::exp(-days / kWarmthDays);
    const double mean = progress.soil_mean_c.value_or(temp_c);
    progress.soil_mean_c = mean + (temp_c - mean) * weight;
    // Mean absolute deviation of a sine is 2/pi of its amplitude.
    const double swing = std::abs(temp_c - *progress.soil_mean_c) * std::numbers::pi / 2;
    progress.soil_swing_c += (swing - progress.soil_swing_c) * weight;
}

// Until the new grass is mown with it, which keeps both short from then on.
void grow_standing_turf(Progress& progress, double soil_temp_c, double days) {
    const double grown_cd = growth_cd_per_day(warm_season(progress), soil_temp_c) * days;
    progress.standing_cd += grown_cd;
    progress.standing_cover =
        std::min(progress.standing_cover +
                     kStandingTurfPerGoodDay * grown_cd / good_day_cd(warm_season(progress)),
                 kStandingTurfMost);
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
        cover += species.share * std::min(stand_of(species) / kFullStand, 1.0) *
                 canopy_fraction(kind, species.growth_cd / good_day_cd(kind.warm_season));
        roots_mm += species.share * species.root_depth_mm;
    }
    const double standing = progress.standing_cover;
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
        SpeciesProgress species;
        species.species = part.species;
        species.share = part.share;
        species.belief = prior_belief(traits(part.species).uncertainty);
        species.alive_driest.fill(1);
        species.alive_rest.fill(1);
        progress.species.push_back(species);
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
            progress.standing_cover = kStandingTurfCover;
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

std::optional<PhaseChange> advance(Progress& progress, const Bed& bed, Seconds dt, WallTime now) {
    CHECK(dt >= Seconds{0});
    CHECK(std::isfinite(bed.temp_c) && std::isfinite(bed.driest_kpa) &&
          std::isfinite(bed.mean_kpa));
    if (progress.method == Method::none || !under_way(progress, now)) return std::nullopt;
    dt = std::min(dt, now - *progress.sown);
    const double days = static_cast<double>(dt.count()) / 86400;

    remember_warmth(progress, bed.temp_c, days);
    const double light = light_share(progress.standing_cover);
    const double growth_cd = light * growth_cd_per_day(warm_season(progress), bed.temp_c) * days;
    if (progress.method == Method::sod || progress.all_up) progress.growth_cd += growth_cd;
    if (progress.method != Method::sod) {
        for (SpeciesProgress& species : progress.species) {
            advance_species(species, bed, days, light);
            note_moments(species, now);
            keep_days(species, *progress.sown, now);
        }
        note_half_up(progress, now);
    }
    if (progress.method == Method::overseed && !progress.first_mow)
        grow_standing_turf(progress, bed.temp_c, days);
    update_stand(progress);
    harden(progress, growth_cd);
    return next_phase(progress, now);
}

std::optional<PhaseChange> advance(Progress& progress, double soil_temp_c, double seed_zone_kpa,
                                   Seconds dt, WallTime now) {
    return advance(progress, Bed{soil_temp_c, seed_zone_kpa, seed_zone_kpa, 0}, dt, now);
}

bool drying_kills(const Progress& progress) {
    if (progress.method == Method::none || progress.method == Method::sod) return false;
    if (progress.all_up || progress.first_mow) return false;
    return std::ranges::any_of(progress.species, [&](const SpeciesProgress& species) {
        return important(progress, species) && own_tau(species) >= kFirstRadicleTau;
    });
}

bool ready_for_first_mow(const Progress& progress) {
    if (progress.method == Method::none || progress.first_mow) return false;
    if (progress.method == Method::sod)
        return progress.rooted || progress.growth_cd >= knit_cd(progress);
    if (!progress.all_up) return false;
    return std::ranges::any_of(progress.species, [&](const SpeciesProgress& species) {
        const SpeciesTraits& kind = traits(species.species);
        return important(progress, species) &&
               species.mow_cd >= kind.first_mow_days * good_day_cd(kind.warm_season);
    });
}

bool standing_turf_wants_cut(const Progress& progress) {
    return progress.method == Method::overseed && !progress.first_mow &&
           progress.standing_cd >= kStandingTurfMowDays * good_day_cd(warm_season(progress));
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
        const double missing_cd =
            (all_up_tau(kind) * species.slowness - species.tau) * kind.thermal_time_cd;
        if (!important(progress, species) || missing_cd <= 0) continue;
        const double rate = germination_cd_per_day(kind, mean_soil_temp_c);
        if (rate <= 0) return std::nullopt;
        days = std::max(days, missing_cd / rate);
    }
    return days;
}

} // namespace firstmow::turf
