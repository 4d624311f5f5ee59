#include "watering/demand.hpp"

#include "base/check.hpp"
#include "turf/thirst.hpp"
#include "watering/forecast_record.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// FAO-56 Eq. 72: Kc max 1.10-1.20 of a surface wetted every day; a bare dark bed in the middle.
constexpr double kWetSurface = 1.15;
// FAO-56 Table 17: Kcb mid of turf at full cover, cool-season and warm-season.
constexpr double kCoolCanopy = 0.90;
constexpr double kWarmCanopy = 0.80;
// 5 % less evaporation per 10 % covered (FAO-56 chapter 10).
constexpr double kSparedPerCovered = 0.5;
// Straw at a bale or two to 1000 ft2 (0.25 kg/m2) leaves nearly half of the soil to be seen
// (extension services); a blanket of 0.27 kg/m2 lies closer (common practice, no source). Either
// holds about twice its weight of water (from memory: 2 to 4 for cereal residue).
constexpr double kStrawCovers = 0.6;
constexpr double kBlanketCovers = 0.8;
constexpr double kStrawHoldsMm = 0.50;
constexpr double kBlanketHoldsMm = 0.55;
// Straw made a daily range of 17.5 deg C at 50 mm one of 11.5.
constexpr double kStrawExchange = 0.6;
constexpr double kBlanketExchange = 0.5;
constexpr double kOvergrown = 0.9;
// Bare soil gathers about 55 % of the dew of a lawn (Baier 1966), and never much in an hour
// (0.2 mm a night is a heavy dew: Jacobs and others 2006).
constexpr double kBareDew = 0.55;
constexpr double kMostDewMmPerH = 0.03;
// A dense sward lets a tenth of the radiation through to the soil (Beer's law with 0.75 and a leaf
// area of 3), and its still air and litter leave 0.4 of the exchange of heat (engineering default:
// the daily swing under grass comes out between 0.9 and 3.1 times that of three measured seasons).
constexpr double kUnderCanopy = 0.1;
constexpr double kCanopyExchange = 0.4;

constexpr double kBareAlbedo = 0.17;      // moist dark soil (Oke 1987, Table 1.1: 0.05-0.40)
constexpr double kReferenceAlbedo = 0.23; // of the reference grass, and of a lawn's leaves
constexpr double kMjPerHourToWatt = 1e6 / 3600.0;
constexpr double kLatentWattPerMmPerH = 2.45e6 / 3600.0;

double canopy_of(const SurfaceCover& cover) {
    return std::clamp(cover.canopy_fraction, 0.0, 1.0);
}

double shaded_share(const HourDemand& hour, const Exposure* exposure) {
    return exposure == nullptr ? 0.0 : 1 - sunlit_share(*exposure, hour.hour_angle_rad);
}

} // namespace

HourDemand hour_demand(const weather::Place& place, const weather::Hour& hour,
                       weather::CloudMemory& clouds) {
    const weather::HourlyEt et =
        weather::hourly_et(weather::Reference::asce_short, place, hour, clouds);
    HourDemand d;
    d.start = hour.start;
    d.et_short_mm_per_h = et.et_mm;
    d.rain_mm_per_h = hour.rain_mm;
    d.rain_probability = hour.rain_probability;
    const bool fell = hour.rain_probability >= 1 && hour.rain_origin != weather::Origin::forecast;
    d.rain_share = fell ? 1.0 : kRainSharePrior;
    d.air_temp_c = hour.air_temp_c;
    const double saturated_kpa = weather::saturation_vapour_kpa(hour.air_temp_c);
    d.vapour_kpa = saturated_kpa * hour.rel_humidity_pct / 100.0;
    d.vapour_deficit_kpa = saturated_kpa - d.vapour_kpa;
    d.wind_2m_m_s = hour.wind_2m_m_s;
    d.solar_w_m2 = hour.solar_w_m2;
    d.soil_temp_c = hour.soil_temp_c;
    d.net_radiation_w_m2 =
        et.net_radiation_mj * kMjPerHourToWatt + (kReferenceAlbedo - kBareAlbedo) * hour.solar_w_m2;
    d.daylight = et.sun_elevation_rad > 0;
    d.hour_angle_rad = et.hour_angle_rad;
    d.direct_et_mm_per_h = et.direct_et_mm;
    d.direct_w_m2 = (1 - kBareAlbedo) * et.direct_mj * kMjPerHourToWatt;
    return d;
}

Mulch mulch_of(const SurfaceCover& cover) {
    if (canopy_of(cover) >= kOvergrown) return {};
    switch (cover.mulch) {
    case turf::Cover::none:
        return {};
    case turf::Cover::straw:
        return {kStrawCovers, kStrawHoldsMm, 1 - kSparedPerCovered * kStrawCovers, kStrawExchange};
    case turf::Cover::blanket:
        return {kBlanketCovers, kBlanketHoldsMm, 1 - kSparedPerCovered * kBlanketCovers,
                kBlanketExchange};
    }
    CHECK(false);
    return {};
}

double zone_et_mm_per_h(const HourDemand& hour, const Exposure* exposure) {
    if (hour.et_short_mm_per_h <= 0) return hour.et_short_mm_per_h;
    return std::max(hour.et_short_mm_per_h - shaded_share(hour, exposure) * hour.direct_et_mm_per_h,
                    0.0);
}

CoverDemand cover_demand(const HourDemand& hour, const SurfaceCover& cover) {
    const double canopy = canopy_of(cover);
    const Mulch mulch = mulch_of(cover);
    const double open_et = zone_et_mm_per_h(hour, cover.exposure);
    const double et = open_et > 0 ? open_et * cover.demand_factor : open_et;
    CoverDemand d;
    if (et >= 0) {
        const double basal = (cover.warm_season ? kWarmCanopy : kCoolCanopy) * canopy;
        const double exposed = std::min(kWetSurface - basal, (1.0 - canopy) * kWetSurface);
        d.transpiration_mm_per_h = basal * et;
        d.wet_leaves_mm_per_h = kWetSurface * canopy * et;
        d.open_evaporation_mm_per_h = exposed * et;
        d.evaporation_mm_per_h = d.open_evaporation_mm_per_h * mulch.evaporation_factor;
    } else {
        const double dew = std::min(-et, kMostDewMmPerH);
        d.leaf_dew_mm_per_h = dew * canopy;
        d.dew_mm_per_h = dew * (kBareDew + (1.0 - kBareDew) * canopy);
    }
    d.through = (1.0 - (1.0 - kUnderCanopy) * canopy) * (1.0 - mulch.covers);
    d.exchange = std::max((1.0 - (1.0 - kCanopyExchange) * canopy) * mulch.exchange, d.through);
    return d;
}

soil::SurfaceForcing surface_forcing(const HourDemand& hour, const SurfaceCover& cover,
                                     double supply_mm_per_h, double surface_temp_c) {
    const CoverDemand demand = cover_demand(hour, cover);
    soil::SurfaceForcing f;
    f.supply_mm_per_h = supply_mm_per_h;
    f.dew_mm_per_h = demand.dew_mm_per_h;
    f.evaporation_demand_mm_per_h = demand.evaporation_mm_per_h;
    f.transpiration_demand_mm_per_h = demand.transpiration_mm_per_h;
    f.root_depth_mm = cover.root_depth_mm;
    f.stress_depletion = turf::stress_depletion(cover.warm_season);
    f.surface_temp_c = surface_temp_c;
    f.air_vapour_kpa = hour.vapour_kpa;
    return f;
}

soil::SkinForcing skin_forcing(const HourDemand& hour, const SurfaceCover& cover,
                               const Cooling& cooling) {
    const CoverDemand demand = cover_demand(hour, cover);
    soil::SkinForcing f;
    f.air_temp_c = hour.air_temp_c;
    f.wind_2m_m_s = hour.wind_2m_m_s;
    const double shaded_w_m2 = shaded_share(hour, cover.exposure) * hour.direct_w_m2;
    const double sun_w_m2 = std::max(hour.solar_w_m2 - shaded_w_m2 / (1 - kBareAlbedo), 0.0);
    f.net_radiation_w_m2 = hour.net_radiation_w_m2 - shaded_w_m2 -
                           canopy_of(cover) * (kReferenceAlbedo - kBareAlbedo) * sun_w_m2;
    f.canopy_fraction = canopy_of(cover);
    f.through = demand.through;
    f.exchange = demand.exchange;
    f.latent_w_m2 = cooling.soil_mm_per_h * kLatentWattPerMmPerH;
    f.cover_latent_w_m2 = cooling.cover_mm_per_h * kLatentWattPerMmPerH;
    return f;
}

} // namespace firstmow::watering
