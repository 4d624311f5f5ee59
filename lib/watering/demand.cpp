#include "watering/demand.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// FAO-56 Eq. 72: Kc max 1.10-1.20 of a surface wetted every day; a bare dark bed in the middle.
constexpr double kWetSurface = 1.15;
// FAO-56 Table 17: Kcb of cool-season turf at full cover.
constexpr double kFullCanopy = 0.90;
// Straw or blanket over 0.6 of the bed: 5 % less evaporation per 10 % covered (FAO-56 chapter 10).
constexpr double kMulchedEvaporation = 0.70;
constexpr double kMulchedRadiation = 0.70;
// Bare soil gathers about 55 % of the dew of a lawn (Baier 1966), and never much in an hour
// (0.2 mm a night is a heavy dew: Jacobs and others 2006).
constexpr double kBareDew = 0.55;
constexpr double kMostDewMmPerH = 0.03;
// Full canopy lets a fifth of the radiation through to the soil.
constexpr double kUnderCanopy = 0.2;

constexpr double kBareAlbedo = 0.17;      // moist dark soil (Oke 1987, Table 1.1: 0.05-0.40)
constexpr double kReferenceAlbedo = 0.23; // of the reference grass
constexpr double kMjPerHourToWatt = 1e6 / 3600.0;
constexpr double kLatentWattPerMmPerH = 2.45e6 / 3600.0;

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
    d.air_temp_c = hour.air_temp_c;
    const double saturated_kpa = weather::saturation_vapour_kpa(hour.air_temp_c);
    d.vapour_kpa = saturated_kpa * hour.rel_humidity_pct / 100.0;
    d.vapour_deficit_kpa = saturated_kpa - d.vapour_kpa;
    d.wind_2m_m_s = hour.wind_2m_m_s;
    d.net_radiation_w_m2 =
        et.net_radiation_mj * kMjPerHourToWatt + (kReferenceAlbedo - kBareAlbedo) * hour.solar_w_m2;
    d.daylight = et.sun_elevation_rad > 0;
    return d;
}

CoverDemand cover_demand(const HourDemand& hour, const SurfaceCover& cover) {
    const double canopy = std::clamp(cover.canopy_fraction, 0.0, 1.0);
    const bool mulched = cover.mulch != turf::Cover::none && canopy < 0.9;
    CoverDemand d;
    if (hour.et_short_mm_per_h >= 0) {
        const double basal = kFullCanopy * canopy;
        const double exposed = std::min(kWetSurface - basal, (1.0 - canopy) * kWetSurface);
        const double asked = hour.et_short_mm_per_h * cover.demand_factor;
        d.transpiration_mm_per_h = basal * asked;
        d.evaporation_mm_per_h = exposed * asked * (mulched ? kMulchedEvaporation : 1.0);
    } else {
        const double gathers = kBareDew + (1.0 - kBareDew) * canopy;
        d.dew_mm_per_h = std::min(-hour.et_short_mm_per_h, kMostDewMmPerH) * gathers;
    }
    d.radiation_share = (1.0 - (1.0 - kUnderCanopy) * canopy) * (mulched ? kMulchedRadiation : 1.0);
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
    f.surface_temp_c = surface_temp_c;
    f.air_vapour_kpa = hour.vapour_kpa;
    return f;
}

soil::SkinForcing skin_forcing(const HourDemand& hour, const SurfaceCover& cover,
                               double evaporation_mm_per_h) {
    const CoverDemand demand = cover_demand(hour, cover);
    soil::SkinForcing f;
    f.air_temp_c = hour.air_temp_c;
    f.wind_2m_m_s = hour.wind_2m_m_s;
    // By night the soil radiates whatever stands over it.
    f.net_radiation_w_m2 =
        hour.net_radiation_w_m2 * (hour.net_radiation_w_m2 > 0 ? demand.radiation_share : 1.0);
    f.latent_w_m2 = evaporation_mm_per_h * kLatentWattPerMmPerH;
    return f;
}

} // namespace firstmow::watering
