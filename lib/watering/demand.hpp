// What an hour of weather asks of a zone's surface: the bridge from reference ET to the column.
//
// The weather's side (HourDemand) is made once an hour for the whole garden, as if in full sun; the
// zone's side (cover_demand, and the forcings made from it) adds its own surface (bare dark soil,
// straw, seedlings, turf) and its own hours of sun.
#pragma once

#include "garden/garden.hpp"
#include "soil/column.hpp"
#include "soil/heat.hpp"
#include "turf/establishment.hpp"
#include "watering/exposure.hpp"
#include "weather/reference_et.hpp"

#include <optional>

namespace firstmow::watering {

struct HourDemand {
    WallTime start;
    double et_short_mm_per_h = 0; // ASCE-EWRI 2005 hourly, short; negative: dew
    double rain_mm_per_h = 0;
    double rain_probability = 1;
    double rain_share = 1; // of amount times probability, what is to be expected in this hour
    double et_doubt = 0;   // mean error of the ET, as a share of it; 0 of what was measured
    double air_temp_c = 0;
    double vapour_kpa = 0;
    double vapour_deficit_kpa = 0;
    double wind_2m_m_s = 0;
    double solar_w_m2 = 0;         // on the flat
    double net_radiation_w_m2 = 0; // of bare soil as warm as the air
    bool daylight = false;         // sun above the horizon at the middle of the hour
    // What of the above is missing where the sun itself does not reach.
    double hour_angle_rad = 0; // of the sun, at the middle of the hour
    double direct_et_mm_per_h = 0;
    double direct_w_m2 = 0; // of net_radiation_w_m2
    // What a source says of the ground's warmth, not of this zone.
    std::optional<double> soil_temp_c;
};
HourDemand hour_demand(const weather::Place& place, const weather::Hour& hour,
                       weather::CloudMemory& clouds);

// What lies or grows on the soil, and when the sun reaches it.
struct SurfaceCover {
    turf::Cover mulch = turf::Cover::none;
    double canopy_fraction = 0; // green ground cover, 0..1
    double root_depth_mm = 0;
    double demand_factor = 1;           // the zone's own, over what the air asks for elsewhere
    bool warm_season = false;           // grass of the tropics' kind
    const Exposure* exposure = nullptr; // null: full sun
};

// Straw or a blanket, as long as it is not overgrown.
struct Mulch {
    double covers = 0;             // of the ground, 0..1
    double holds_mm = 0;           // water, over the zone
    double evaporation_factor = 1; // of the soil below
    double exchange = 1; // of heat between the soil below and air and sky; the rest is kept back
};
Mulch mulch_of(const SurfaceCover& cover);

// Reference ET at the zone: less where it is shaded. Never rises with less sun.
double zone_et_mm_per_h(const HourDemand& hour, const Exposure* exposure);

// Surface factors, each with its source in demand.cpp.
struct CoverDemand {
    double evaporation_mm_per_h = 0;      // of the soil, if wet
    double open_evaporation_mm_per_h = 0; // the same without straw or blanket
    double transpiration_mm_per_h = 0;    // of the plants, if not short of water
    double wet_leaves_mm_per_h = 0;       // of the canopy, if all of it is wet
    double dew_mm_per_h = 0;
    double leaf_dew_mm_per_h = 0; // of dew_mm_per_h
    double through = 1;           // of the radiation, to the soil
    double exchange = 1;          // of heat between the soil and air and sky
};
CoverDemand cover_demand(const HourDemand& hour, const SurfaceCover& cover);

// With nothing held on leaves or straw; interception.hpp has the whole.
soil::SurfaceForcing surface_forcing(const HourDemand& hour, const SurfaceCover& cover,
                                     double supply_mm_per_h, double surface_temp_c);
// What evaporates, mm/h: from the soil, and from what lies and grows on it.
struct Cooling {
    double soil_mm_per_h = 0;
    double cover_mm_per_h = 0;
    bool operator==(const Cooling&) const = default;
};
soil::SkinForcing skin_forcing(const HourDemand& hour, const SurfaceCover& cover,
                               const Cooling& cooling);

} // namespace firstmow::watering
