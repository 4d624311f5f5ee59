#include "watering/zone_model.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::watering {

ZoneSpec zone_spec(const garden::Zone& zone, Seconds solar_ahead) {
    ZoneSpec spec;
    spec.column =
        soil::make_column(zone.ground(), zone.establishment.seed_depth_mm, zone.slope_pct);
    spec.mulch = zone.establishment.cover;
    spec.slope_pct = zone.slope_pct;
    spec.rate_mm_per_h = zone.precipitation_rate_mm_per_h;
    spec.low_quarter = zone.distribution_uniformity;
    const garden::HeadTraits heads = garden::traits(zone.heads);
    spec.nozzle = {heads.nozzle_mm, heads.pressure_kpa};
    const bool of_the_ground = zone.rate_source == garden::RateSource::given ||
                               zone.rate_source == garden::RateSource::cans;
    if (of_the_ground)
        spec.loss_in_rate = air_loss(spec.nozzle, kCanTestWindMPerS, kCanTestDeficitKpa);
    spec.exposure = exposure_of(zone, solar_ahead);
    return spec;
}

ZoneSpec corrected(const ZoneSpec& spec, const Factors& factors) {
    ZoneSpec own = spec;
    own.rate_mm_per_h *= factors.rate;
    own.low_quarter = std::clamp(own.low_quarter * factors.uniformity, 0.1, 1.0);
    own.demand_factor *= factors.evaporation;
    own.column.intake_factor *= factors.intake;
    return own;
}

double ground_rate_mm_per_h(const ZoneSpec& spec, const HourDemand& hour) {
    const double loss = air_loss(spec.nozzle, hour.wind_2m_m_s, hour.vapour_deficit_kpa);
    return spec.rate_mm_per_h * (1 - loss) / (1 - spec.loss_in_rate);
}

ZoneState initial_state(const garden::Zone& zone, const ZoneSpec& spec, double temp_c,
                        WallTime establishment_start) {
    ZoneState state;
    state.mean = soil::uniform_state(spec.column, zone.soil_below_kpa);
    state.low = state.mean;
    state.heat = soil::uniform_heat(spec.column, temp_c);
    std::vector<turf::MixShare> mix;
    for (const garden::MixPart& part : zone.establishment.mix)
        mix.push_back({part.species, part.share});
    state.progress = turf::begin(zone.establishment.method, mix, establishment_start);
    return state;
}

double roots_mm(const ZoneSpec& spec, const turf::Progress& progress) {
    const auto seed_layer = static_cast<std::size_t>(spec.column.layers.seed_layers - 1);
    return std::max(progress.root_depth_mm, spec.column.layers.bottom_mm[seed_layer]);
}

SurfaceCover cover_of(const ZoneSpec& spec, const turf::Progress& progress) {
    return SurfaceCover{spec.mulch,         progress.cover_fraction,     progress.root_depth_mm,
                        spec.demand_factor, turf::warm_season(progress), &spec.exposure};
}

double seed_temp_c(const ZoneSpec& spec, const ZoneState& state) {
    return soil::seed_temp_c(spec.column, state.heat) + state.warmer_c;
}

namespace {

constexpr double kErrorMemory_s = 24 * 3600;
constexpr double kSilenceForgets_s = 72 * 3600;

void put_warmth_right(const ZoneSpec& spec, ZoneState& state, std::optional<double> said_c,
                      double dt_s) {
    if (!said_c && state.warmer_c == 0) return;
    if (!said_c) {
        state.warmer_c *= std::exp(-dt_s / kSilenceForgets_s);
        if (std::abs(state.warmer_c) < 0.01) state.warmer_c = 0;
        return;
    }
    const double error = *said_c - soil::temp_at_c(spec.column, state.heat, kSourceDepth_mm);
    state.warmer_c += (error - state.warmer_c) * (1 - std::exp(-dt_s / kErrorMemory_s));
    state.warmer_c = std::clamp(state.warmer_c, -kMostWarmer_c, kMostWarmer_c);
}

} // namespace

ZoneStep advance(const ZoneSpec& spec, ZoneState& state, const HourDemand& hour,
                 double applied_mm_per_h, Seconds dt, WallTime end) {
    CHECK(dt.count() > 0 && end <= hour.start + Seconds{3600} && end - dt >= hour.start);
    const auto dt_s = static_cast<double>(dt.count());
    const SurfaceCover cover = cover_of(spec, state.progress);
    const double depth_mm = roots_mm(spec, state.progress);
    if (state.progress.phase != turf::Phase::mature)
        state.book.reset();
    else if (!state.book)
        state.book = begin_book(spec.column, state.mean, depth_mm);
    ZoneStep out;
    const double before_mm =
        state.book ? kept_mm(spec.column, state.mean, state.mean_held, depth_mm) : 0;
    const BedFlows mean = step_bed(spec.column, state.mean, state.mean_held, hour, cover,
                                   hour.rain_mm_per_h + applied_mm_per_h, state.heat.skin_c, dt_s);
    const BedFlows low =
        step_bed(spec.column, state.low, state.low_held, hour, cover,
                 hour.rain_mm_per_h + applied_mm_per_h * spec.low_quarter, state.heat.skin_c, dt_s);
    out.mean = mean.all;
    out.low = low.all;
    out.leaves_wet = leaves_wet(cover, state.mean_held);
    if (state.book) {
        const double after_mm = kept_mm(spec.column, state.mean, state.mean_held, depth_mm);
        const double holds_mm = soil::available_mm(spec.column, depth_mm);
        enter(*state.book, hour, end - dt, out.mean, holds_mm);
        lend(*state.book, rise_mm(spec.column, state.mean, depth_mm, out.mean, before_mm, after_mm),
             most_lent_mm(holds_mm));
    }

    state.cooling = mean.cooling;
    soil::heat_step(spec.column, state.mean, state.heat, skin_forcing(hour, cover, state.cooling),
                    dt_s);
    put_warmth_right(spec, state, hour.soil_temp_c, dt_s);
    const turf::Bed bed{seed_temp_c(spec, state), soil::seed_zone_kpa(spec.column, state.low),
                        soil::seed_zone_kpa(spec.column, state.mean),
                        turf::washed_share(out.mean.runoff_mm, spec.slope_pct, spec.mulch)};
    out.phase_change = turf::advance(state.progress, bed, dt, end);
    return out;
}

} // namespace firstmow::watering
