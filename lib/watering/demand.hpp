// What an hour of weather asks of a zone's surface: the bridge from reference ET to the column.
//
// The weather's side (HourDemand) is made once an hour for the whole garden; the zone's side
// (cover_demand, and the forcings made from it) adds its own surface: bare dark soil, straw,
// seedlings, turf.
#pragma once

#include "garden/garden.hpp"
#include "soil/column.hpp"
#include "soil/heat.hpp"
#include "turf/establishment.hpp"
#include "weather/reference_et.hpp"

namespace firstmow::watering {

struct HourDemand {
    WallTime start;
    double et_short_mm_per_h = 0; // ASCE-EWRI 2005 hourly, short; negative: dew
    double rain_mm_per_h = 0;
    double rain_probability = 1;
    double air_temp_c = 0;
    double vapour_kpa = 0;
    double vapour_deficit_kpa = 0;
    double wind_2m_m_s = 0;
    double net_radiation_w_m2 = 0; // of bare soil as warm as the air
    bool daylight = false;         // sun above the horizon at the middle of the hour
};
HourDemand hour_demand(const weather::Place& place, const weather::Hour& hour,
                       weather::CloudMemory& clouds);

// What lies or grows on the soil.
struct SurfaceCover {
    turf::Cover mulch = turf::Cover::none;
    double canopy_fraction = 0; // green ground cover, 0..1
    double root_depth_mm = 0;
    double demand_factor = 1; // the zone's own, over what the air asks for elsewhere
};

// Surface factors, each with its source in demand.cpp.
struct CoverDemand {
    double evaporation_mm_per_h = 0;   // of the soil, if wet
    double transpiration_mm_per_h = 0; // of the plants, if not short of water
    double dew_mm_per_h = 0;
    double radiation_share = 1; // of the net radiation that reaches the soil
};
CoverDemand cover_demand(const HourDemand& hour, const SurfaceCover& cover);

soil::SurfaceForcing surface_forcing(const HourDemand& hour, const SurfaceCover& cover,
                                     double supply_mm_per_h, double surface_temp_c);
soil::SkinForcing skin_forcing(const HourDemand& hour, const SurfaceCover& cover,
                               double evaporation_mm_per_h);

} // namespace firstmow::watering
