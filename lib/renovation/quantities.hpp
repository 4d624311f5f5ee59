// What to buy for a zone, and the water until the first mow.
//
// Metric inside: g, kg, m2, m3, L. Sources beside the figures in quantities.cpp.
#pragma once

#include "garden/garden.hpp"

#include <optional>
#include <vector>

namespace firstmow::renovation {

struct SeedPart {
    turf::Species species{};
    double pure_live_kg = 0;
    double bulk_kg = 0; // to buy, at the lot's purity and germination
};

struct Quantities {
    // Seed; all zero for sod.
    double rate_g_per_m2 = 0;  // pure live seed of the mix
    double bulk_g_per_m2 = 0;  // over the spreader
    double pure_live_seed = 1; // purity times germination
    bool seed_tag_assumed = false;
    std::vector<SeedPart> seed;
    // Starter.
    double starter_kg = 0;
    double starter_g_per_m2 = 0;
    double p2o5_g_per_m2 = 0;
    double k2o_g_per_m2 = 0;
    // Bulk.
    double topsoil_m3 = 0;
    double topdressing_m3 = 0;
    double topdressing_mm = 0;
    double straw_low_kg = 0;
    double straw_high_kg = 0;
    double blanket_m2 = 0;
    // Sod.
    double sod_m2 = 0; // with waste
    int sod_rolls = 0;
    // Water until the first mow, without rain.
    double water_mm = 0; // gross, mean over the zone
    double water_l = 0;
    std::optional<double> water_cost; // in the currency of the price
    // The same with the usual rain; nothing where that is not known.
    std::optional<double> water_with_rain_mm;
    std::optional<double> water_with_rain_l;
    std::optional<double> water_with_rain_cost;
};

double product_g_per_m2(double nutrient_g_per_m2, double analysis_pct);
double volume_m3(double area_m2, double depth_mm);
int rolls(double area_m2, double waste_pct, double roll_m2);
// Gross depth that gives the driest quarter its share: net / (0.4 + 0.6 DU).
double gross_mm(double net_mm, double distribution_uniformity);
// To wet the ground through once: to field capacity down to 150 mm.
double first_soak_mm(const garden::Zone& zone);

// `net_mm`: what soil and grass give to the air until the first mow; `rain_mm`: of that, what usual
// rain brings.
Quantities quantities(const garden::Zone& zone, const garden::Renovation& renovation, double net_mm,
                      std::optional<double> rain_mm = std::nullopt);

} // namespace firstmow::renovation
