#include "renovation/quantities.hpp"

#include "base/check.hpp"
#include "renovation/seeding.hpp"
#include "soil/texture.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::renovation {

namespace {

// A lot of fair quality, where the tag was not read (default).
constexpr double kUsualPurity = 0.98;
constexpr double kUsualGermination = 0.85;
// 50-80 lb/1000 ft2, half of the soil still in sight (Ohio State).
constexpr double kStrawLowLb = 50;
constexpr double kStrawHighLb = 80;
// A quarter of an inch at most over seed; what an overseeding gets where nothing is asked for.
constexpr double kOverseedTopdressingMm = 6;
constexpr double kSoakDepthMm = 150;   // top 4-6 in
constexpr double kLeastSodSoakMm = 25; // about an inch within the first half hour

void add_seed(const garden::Zone& zone, const garden::Renovation& renovation, Quantities& q) {
    const garden::Establishment& sown = zone.establishment;
    q.seed_tag_assumed = !renovation.seed_purity_pct || !renovation.seed_germination_pct;
    const double purity = renovation.seed_purity_pct.value_or(100 * kUsualPurity) / 100;
    const double germination =
        renovation.seed_germination_pct.value_or(100 * kUsualGermination) / 100;
    q.pure_live_seed = purity * germination;
    q.rate_g_per_m2 = renovation.seed_rate_g_per_m2.value_or(
        mix_rate_g_per_m2(sown.mix, sown.method == turf::Method::overseed));
    q.bulk_g_per_m2 = bulk_seed(q.rate_g_per_m2, purity, germination);
    for (const garden::MixPart& part : sown.mix)
        q.seed.push_back({part.species, part.share * q.rate_g_per_m2 * zone.area_m2 / 1000,
                          part.share * q.bulk_g_per_m2 * zone.area_m2 / 1000});
}

void add_water(const garden::Zone& zone, const garden::Renovation& renovation, double net_mm,
               std::optional<double> rain_mm, Quantities& q) {
    q.water_mm = gross_mm(first_soak_mm(zone) + net_mm, zone.distribution_uniformity);
    q.water_l = q.water_mm * zone.area_m2;
    if (renovation.water_price_per_m3)
        q.water_cost = q.water_l / 1000 * *renovation.water_price_per_m3;
    if (!rain_mm) return;
    // Rain falls alike on all of the zone, so it spares the extra for the driest quarter too.
    q.water_with_rain_mm = gross_mm(first_soak_mm(zone) + std::max(net_mm - *rain_mm, 0.0),
                                    zone.distribution_uniformity);
    q.water_with_rain_l = *q.water_with_rain_mm * zone.area_m2;
    if (renovation.water_price_per_m3)
        q.water_with_rain_cost = *q.water_with_rain_l / 1000 * *renovation.water_price_per_m3;
}

} // namespace

double product_g_per_m2(double nutrient_g_per_m2, double analysis_pct) {
    CHECK(analysis_pct > 0);
    return nutrient_g_per_m2 / (analysis_pct / 100);
}

double volume_m3(double area_m2, double depth_mm) {
    return area_m2 * depth_mm / 1000;
}

int rolls(double area_m2, double waste_pct, double roll_m2) {
    CHECK(roll_m2 > 0);
    // The slack keeps 100.0000001 rolls from becoming 101.
    return static_cast<int>(std::ceil(area_m2 * (1 + waste_pct / 100) / roll_m2 - 1e-6));
}

double gross_mm(double net_mm, double distribution_uniformity) {
    return net_mm / (0.4 + 0.6 * distribution_uniformity);
}

double first_soak_mm(const garden::Zone& zone) {
    const soil::Hydraulics soil = soil::hydraulics(zone.soil);
    const double lacking = soil.field_capacity - soil.water_content(zone.soil_below_kpa);
    const double depth = std::max(0.0, lacking) * kSoakDepthMm;
    return zone.establishment.method == turf::Method::sod ? std::max(depth, kLeastSodSoakMm)
                                                          : depth;
}

Quantities quantities(const garden::Zone& zone, const garden::Renovation& renovation, double net_mm,
                      std::optional<double> rain_mm) {
    const garden::Establishment& establishment = zone.establishment;
    CHECK(establishment.method != turf::Method::none);
    Quantities q;
    const bool sod = establishment.method == turf::Method::sod;
    if (sod) {
        q.sod_m2 = zone.area_m2 * (1 + renovation.sod_waste_pct / 100);
        q.sod_rolls = rolls(zone.area_m2, renovation.sod_waste_pct, renovation.sod_roll_m2);
    } else {
        add_seed(zone, renovation, q);
        const double usual =
            establishment.method == turf::Method::overseed ? kOverseedTopdressingMm : 0;
        q.topdressing_mm = renovation.topdressing_mm.value_or(usual);
        q.topdressing_m3 = volume_m3(zone.area_m2, q.topdressing_mm);
        const double kg_per_lb = kGramsPerM2OfPoundsPer1000Ft2 * zone.area_m2 / 1000;
        if (establishment.cover == turf::Cover::straw) {
            q.straw_low_kg = kStrawLowLb * kg_per_lb;
            q.straw_high_kg = kStrawHighLb * kg_per_lb;
        }
        if (establishment.cover == turf::Cover::blanket) q.blanket_m2 = zone.area_m2 * 1.05;
    }
    if (establishment.method != turf::Method::overseed)
        q.topsoil_m3 = volume_m3(zone.area_m2, renovation.topsoil_mm);
    q.starter_g_per_m2 =
        product_g_per_m2(renovation.starter_nitrogen_g_per_m2, renovation.starter.n_pct);
    q.starter_kg = q.starter_g_per_m2 * zone.area_m2 / 1000;
    q.p2o5_g_per_m2 = q.starter_g_per_m2 * renovation.starter.p2o5_pct / 100;
    q.k2o_g_per_m2 = q.starter_g_per_m2 * renovation.starter.k2o_pct / 100;
    add_water(zone, renovation, net_mm, rain_mm, q);
    return q;
}

} // namespace firstmow::renovation
