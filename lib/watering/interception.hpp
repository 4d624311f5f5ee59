// Water that rain, sprinklers and dew leave on leaves and in straw before any reaches the soil.
//
// Leaves and straw each catch what falls on the ground they cover until they are full; what they
// hold evaporates first, and what that takes of the weather's demand the plants and the soil do
// not get. A store that is partly wet evaporates with the 2/3 power of its wetness (Deardorff
// 1978, J. Geophys. Res. 83:1889), integrated exactly, so the length of a step does not matter.
//
// In the accounts (moisture.csv) held water counts as water on the surface, like puddles, and
// leaves as evaporation: gains less losses is the change of what is stored, to rounding.
#pragma once

#include "watering/demand.hpp"

namespace firstmow::watering {

// Depths over the zone, mm.
struct Held {
    double leaves_mm = 0;
    double straw_mm = 0; // in straw or a blanket
    double sum_mm() const { return leaves_mm + straw_mm; }
    bool operator==(const Held&) const = default;
};
// The most that the cover can hold.
Held most_held(const SurfaceCover& cover);

// What is left for the soil below of the forcing of a step.
struct Below {
    soil::SurfaceForcing forcing;
    double evaporated_mm = 0; // of held water, during the step
    double spilled_mm = 0;    // was held and is no more (the cover changed); in the forcing
};
// `supply_mm_per_h` >= 0: rain and sprinkling above the cover. Conserves: what comes in (supply and
// dew) = change of `held` + evaporated + what `forcing` brings to the soil, over `dt_s`.
Below intercept(const HourDemand& hour, const SurfaceCover& cover, Held& held,
                double supply_mm_per_h, double surface_temp_c, double dt_s);

// A step of a bed with what lies and grows on it.
struct BedFlows {
    soil::Flows all; // supply and dew above the cover; evaporation of held water too
    Cooling cooling;
};
BedFlows step_bed(const soil::Column& column, soil::ColumnState& water, Held& held,
                  const HourDemand& hour, const SurfaceCover& cover, double supply_mm_per_h,
                  double surface_temp_c, double dt_s);

// Leaves with drops or a film on them: what a fungus needs. True while a twentieth of what they
// can hold is there; false without a canopy to speak of.
bool leaves_wet(const SurfaceCover& cover, const Held& held);

} // namespace firstmow::watering
