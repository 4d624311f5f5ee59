#include "turf/stand.hpp"

#include "turf/growth.hpp"
#include "turf/mix.hpp"
#include "turf/thermal_time.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::turf {

namespace {

constexpr double kHarmlessKpa = -300;
constexpr double kWiltingKpa = -1500;
constexpr double kHalfDieIn_h = 4; // at the wilting point
constexpr double kSafeRootsMm = 40;
constexpr double kNoneOut = 0.5; // of the median's radicle: below it the quickest is far off
// Of the area, what counts as the driest quarter.
constexpr double kDriestShare = 0.25;

// Part of the danger that the roots of what is up leave.
double exposed(double root_depth_mm) {
    return std::clamp((kSafeRootsMm - root_depth_mm) / (kSafeRootsMm - kRootsAtEmergenceMm), 0.0,
                      1.0);
}

double mean_of(const LotShares& shares) {
    double sum = 0;
    for (const double share : shares)
        sum += share;
    return sum / static_cast<double>(kLotClasses);
}

// Part of each class that drying would kill now.
LotShares endangered(const SpeciesProgress& species) {
    const SpeciesTraits& kind = traits(species.species);
    const LotShares out = lot_shares(own_tau(species), 1);
    const LotShares up = lot_shares(own_tau(species), kind.emergence_factor);
    const double still_exposed = exposed(species.root_depth_mm);
    LotShares danger{};
    for (std::size_t k = 0; k < kLotClasses; ++k)
        danger[k] = out[k] - up[k] * (1 - still_exposed);
    return danger;
}

void lose(LotShares& alive, const LotShares& danger, double lost) {
    for (std::size_t k = 0; k < kLotClasses; ++k)
        alive[k] *= 1 - danger[k] * lost;
}

double alive_share(const SpeciesProgress& species) {
    return kDriestShare * mean_of(species.alive_driest) +
           (1 - kDriestShare) * mean_of(species.alive_rest);
}

} // namespace

double death_rate_per_h(double matric_kpa) {
    if (matric_kpa >= kHarmlessKpa) return 0;
    const double dryness =
        std::log(matric_kpa / kHarmlessKpa) / std::log(kWiltingKpa / kHarmlessKpa);
    return std::log(2.0) / kHalfDieIn_h * dryness;
}

void advance_stand(SpeciesProgress& species, const Bed& bed, double hours) {
    const double driest = death_rate_per_h(bed.driest_kpa);
    const double mean = death_rate_per_h(bed.mean_kpa);
    if (driest <= 0 && mean <= 0 && bed.washed_share <= 0) return;
    if (species.root_depth_mm >= kSafeRootsMm) return;
    if (bed.washed_share > 0) {
        // Whatever has no roots in the ground yet goes with the water.
        const double loose = std::min(bed.washed_share, 1.0) * exposed(species.root_depth_mm);
        for (LotShares* alive : {&species.alive_driest, &species.alive_rest})
            for (double& share : *alive)
                share *= 1 - loose;
    }
    if (own_tau(species) < kNoneOut || (driest <= 0 && mean <= 0)) return;
    const LotShares danger = endangered(species);
    lose(species.alive_driest, danger, 1 - std::exp(-driest * hours));
    lose(species.alive_rest, danger, 1 - std::exp(-mean * hours));
}

Danger danger_of(const SpeciesProgress& species) {
    if (own_tau(species) < kFirstRadicleTau) return Danger::imbibing;
    const bool up = emergence_fraction(species) >= 1;
    return up && species.root_depth_mm >= kSafeRootsMm ? Danger::rooted : Danger::radicle_out;
}

namespace {

// Up and alive when the median seed of the lot is at `own`.
double up_share_at(const SpeciesProgress& species, double own) {
    const LotShares up = lot_shares(own, traits(species.species).emergence_factor);
    double sum = 0;
    for (std::size_t k = 0; k < kLotClasses; ++k)
        sum += up[k] * (kDriestShare * species.alive_driest[k] +
                        (1 - kDriestShare) * species.alive_rest[k]);
    return sum / static_cast<double>(kLotClasses);
}

} // namespace

double up_share(const SpeciesProgress& species) {
    return up_share_at(species, own_tau(species));
}

std::vector<double> up_by_day(const SpeciesProgress& species) {
    std::vector<double> shares;
    for (const double tau : species.tau_by_day)
        shares.push_back(up_share_at(species, tau / species.slowness));
    return shares;
}

Stand stand_of(const Progress& progress) {
    Stand stand;
    if (progress.method != Method::seed && progress.method != Method::overseed) return stand;
    double shares = 0;
    double whole = 0;
    double driest = 0;
    for (const SpeciesProgress& species : progress.species) {
        shares += species.share;
        whole += species.share * alive_share(species);
        driest += species.share * mean_of(species.alive_driest);
    }
    if (shares <= 0) return stand;
    stand.alive = whole / shares;
    stand.alive_driest_quarter = driest / shares;
    return stand;
}

double stand_of(const SpeciesProgress& species) {
    return alive_share(species);
}

double washed_share(double runoff_mm, double slope_pct, Cover cover) {
    constexpr double kPerMm = 0.01;
    constexpr double kSlopePct = 5;
    constexpr double kHeldByCover = 0.2;
    const double held = cover == Cover::none ? 1.0 : kHeldByCover;
    return std::clamp(runoff_mm * kPerMm * (slope_pct / kSlopePct) * held, 0.0, 1.0);
}

std::string_view key(Danger danger) {
    switch (danger) {
    case Danger::imbibing:
        return "imbibing";
    case Danger::radicle_out:
        return "radicle_out";
    case Danger::rooted:
        break;
    }
    return "rooted";
}

} // namespace firstmow::turf
