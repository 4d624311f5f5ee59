// What the phase asks of the water.
//
// Everything hangs on `hardening`, which never jumps. Figures are engineering defaults inside of
// what extension services publish: top 13-25 mm moist, 2-4 runs a day until all are up (NC State,
// Iowa State), two a day, then one, then every second day while the depth rises from 25 to 75 mm
// (Nebraska), afterwards deep and rare: a grown-in lawn is refilled before it would drink less
// (thirst.hpp).
#include "turf/establishment.hpp"
#include "turf/mix.hpp"
#include "turf/thirst.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::turf {

namespace {

constexpr Seconds kBeforeSunset{2 * 3600}; // leaves dry before the night: 2-3 h
constexpr double kJudgeRootsFromMm = 30;   // shallower roots live from the seed zone

// What a zone needs at the stations 0, 1 and 2 of its hardening.
struct Stations {
    double kept_damp;
    double at_first_mow;
    double grown_in;
};

double between(const Stations& stations, double hardening) {
    if (hardening < 1) return std::lerp(stations.kept_damp, stations.at_first_mow, hardening);
    return std::lerp(stations.at_first_mow, stations.grown_in, std::min(hardening - 1, 1.0));
}

constexpr double kAllowedDepletion = 0.3; // up to the first mow
constexpr Stations kGapHours{12, 24, 72};
constexpr Stations kSeedThresholdKpa{-100, -300, -1500};
constexpr Stations kSeedWetDepthMm{25, 60, 150};
// Sod is 20 mm thick and its cut roots cannot reach below it yet.
constexpr Stations kSodThresholdKpa{-50, -100, -1500};
constexpr Stations kSodWetDepthMm{40, 60, 150};
// Freshly laid sod: soil wet to 75-100 mm on the first day, so that roots find water below.
constexpr double kSodFirstWetDepthMm = 100;

// 1 on the day of laying, falling to 0 over the day after.
double first_day(const Progress& progress, WallTime now) {
    const double days = static_cast<double>((now - *progress.sown).count()) / 86400;
    return std::clamp(2 - days, 0.0, 1.0);
}

bool judges_root_zone(const Progress& progress) {
    switch (progress.phase) {
    case Phase::pre_germination:
    case Phase::emergence:
    case Phase::rooting:
        return false;
    case Phase::seedling:
        return shallowest_roots_mm(progress) > kJudgeRootsFromMm;
    case Phase::post_first_mow:
    case Phase::mature:
        break;
    }
    return true;
}

// Seed that lies too cold to germinate waits, and drying costs it nothing but time: dormant seed is
// not watered through a winter. 0: waits; 1: on its way, because the soil has been warm or the
// first radicles are near. The steps of 1.5 and 4 K above the base are defaults.
double astir(const Progress& progress, WallTime now) {
    if (progress.phase != Phase::pre_germination || !progress.soil_mean_c) return 1;
    // The first days are given to getting to know the soil.
    double most = 1 - static_cast<double>((now - *progress.sown).count()) / 86400 / 2;
    for (const SpeciesProgress& species : progress.species) {
        if (!important(progress, species)) continue;
        const double from_c = traits(species.species).base_temp_c + 1.5;
        most =
            std::max({most, (*progress.soil_mean_c - from_c) / 4, (own_tau(species) - 0.4) / 0.2});
    }
    return std::clamp(most, 0.0, 1.0);
}

bool bounds_gap(Phase phase) {
    return phase == Phase::seedling || phase == Phase::post_first_mow || phase == Phase::rooting;
}

} // namespace

Needs needs(const Progress& progress, WallTime now) {
    Needs needs;
    needs.before_sunset = kBeforeSunset;
    if (!under_way(progress, now)) {
        needs.threshold_kpa = kNoThresholdKpa;
        needs.wet_depth_mm = 0;
        needs.allowed_depletion = 1;
        return needs;
    }
    // Before germination drying only costs time, but the first radicle of the fastest species is
    // not announced: the damp phases share one threshold, so that none is caught by it.
    const bool sod = progress.method == Method::sod;
    const double hardening = progress.hardening;
    needs.threshold_kpa = between(sod ? kSodThresholdKpa : kSeedThresholdKpa, hardening);
    if (const double awake = astir(progress, now); awake < 1)
        needs.threshold_kpa *=
            std::pow(kSeedThresholdKpa.grown_in / kSeedThresholdKpa.kept_damp, 1 - awake);
    needs.wet_depth_mm = between(sod ? kSodWetDepthMm : kSeedWetDepthMm, hardening);
    if (sod)
        needs.wet_depth_mm =
            std::lerp(needs.wet_depth_mm, std::max(needs.wet_depth_mm, kSodFirstWetDepthMm),
                      first_day(progress, now));
    needs.judge_root_zone = judges_root_zone(progress);
    needs.allowed_depletion = between(
        {kAllowedDepletion, kAllowedDepletion, stress_depletion(warm_season(progress))}, hardening);
    if (bounds_gap(progress.phase))
        needs.longest_gap = Seconds{std::llround(between(kGapHours, hardening) * 3600)};
    return needs;
}

} // namespace firstmow::turf
