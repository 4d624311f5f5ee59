#include "compare/landscapes.hpp"

#include <algorithm>

namespace firstmow::compare {

garden::Zone landscape_zone(const Landscape& l) {
    garden::Zone zone;
    zone.id = std::string(1, l.name[0]);
    zone.name = l.name;
    zone.area_m2 = 100;
    zone.soil = l.soil;
    zone.slope_pct = l.slope_pct;
    zone.precipitation_rate_mm_per_h = l.rate_mm_per_h * l.efficiency;
    zone.distribution_uniformity = 0.65;
    // Half of what may be used is gone, as in the account: a quarter of what the soil has to give.
    const soil::Hydraulics h = soil::hydraulics(zone.soil);
    zone.soil_below_kpa =
        h.potential_kpa(h.field_capacity - 0.25 * (h.field_capacity - h.wilting_point));
    if (l.direct_sun_h < 24) zone.direct_sun_h = l.direct_sun_h;
    zone.valve.driver = "simulated";
    zone.valve.channel = l.name[0] - '0';
    zone.establishment.mix = {{l.species, 1.0}};
    return zone;
}

Account account_of(const Landscape& l, std::span<const AccountHour> hours) {
    // FAO-56 Table 17, basal, turf at full cover: cool-season 0.90, warm-season 0.80 of reference
    // ET.
    const double crop = l.species == turf::Species::bermudagrass ? 0.8 : 0.9;
    double store_mm = l.working_storage_mm / 2;
    Account a;
    for (std::size_t i = 0; i < hours.size(); ++i) {
        const AccountHour& hour = hours[i];
        const double asked = crop * std::max(hour.reference_et_mm, 0.0);
        a.asked_mm += asked;
        a.applied_mm += hour.applied_mm;
        a.used_mm += hour.used_mm;
        store_mm += hour.rain_mm - asked;
        // Water beyond what the store takes is too much; rain beyond it drains by the end of the
        // day (FAO-56 chapter 8, below Eq. 86), and is drunk until then.
        const double room_mm = std::max(l.working_storage_mm - store_mm, 0.0);
        const double surplus_mm = std::max(hour.applied_mm - room_mm, 0.0);
        store_mm += hour.applied_mm - surplus_mm;
        a.excess_mm += surplus_mm;
        if (hour.applied_mm > 0) a.excess_mm += std::min(hour.runoff_mm, hour.applied_mm);
        a.deficit_mm += std::max(-store_mm, 0.0);
        store_mm = std::max(store_mm, 0.0);
        if (i % 24 == 23) store_mm = std::min(store_mm, l.working_storage_mm);
    }
    return a;
}

} // namespace firstmow::compare
