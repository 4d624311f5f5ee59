#include "renovation/plan.hpp"

#include "renovation/ical.hpp"

#include <algorithm>

namespace firstmow::renovation {

namespace {

std::vector<std::string> cautions_for(const garden::Garden& garden) {
    std::vector<std::string> cautions = {
        "Herbicides: the label is the law, and it alone says how long to wait before seed or sod.",
        "Water: local rules on hours, days and new lawns hold; many places want a permit for a new "
        "lawn.",
        "Plumbing: irrigation pipe needs a backflow preventer; mains water and mains electricity "
        "are for licensed people.",
        "Compressed air (blowing out pipes) bursts pipes and injures people: leave it to someone "
        "who does it for a living.",
        "Fertilizer: keep to the label; local law may forbid phosphorus or dates.",
    };
    const bool digs =
        std::any_of(garden.zones.begin(), garden.zones.end(), [](const garden::Zone& zone) {
            const turf::Method method = zone.establishment.method;
            return method == turf::Method::seed || method == turf::Method::sod;
        });
    if (digs) cautions.push_back("Digging: have buried cables and pipes marked before you till.");
    return cautions;
}

ZonePlan plan_zone(const garden::Garden& garden, const garden::Zone& zone, const Climate& climate,
                   const FirstFreezes& freezes, const Show& show) {
    const garden::Establishment& establishment = zone.establishment;
    ZonePlan planned;
    planned.zone = &zone;
    planned.timing =
        timing(establishment, climate, frost_outlook(garden, freezes, *establishment.start), show);
    planned.milestones = milestones(establishment, climate);
    planned.quantities = quantities(zone, garden.renovation, planned.milestones.net_mm);
    planned.advice = advise(zone, garden.renovation, climate, planned.timing);
    planned.events = zone_events(zone, garden.renovation, planned.timing, planned.milestones,
                                 planned.quantities, show);
    return planned;
}

} // namespace

Plan plan_dates(const garden::Garden& garden, std::span<const DailyAir> record) {
    Plan plan;
    plan.garden = &garden;
    plan.climate = climate_of(garden.site.place, record);
    plan.cautions = cautions_for(garden);
    const FirstFreezes freezes = first_freezes(record, plan.climate.southern());
    const Show show(garden.site.units);
    std::optional<Date> first;
    const ZonePlan* first_zone = nullptr;
    plan.zones.reserve(garden.zones.size());
    for (const garden::Zone& zone : garden.zones) {
        const garden::Establishment& establishment = zone.establishment;
        if (establishment.method == turf::Method::none || !establishment.start) continue;
        plan.zones.push_back(plan_zone(garden, zone, plan.climate, freezes, show));
        if (first && *establishment.start >= *first) continue;
        first = establishment.start;
        first_zone = &plan.zones.back();
    }
    if (first_zone == nullptr) return plan;
    plan.stamp = std::chrono::sys_days{*first};
    plan.events = garden_events(first_zone->timing);
    for (const ZonePlan& zone : plan.zones)
        plan.events.insert(plan.events.end(), zone.events.begin(), zone.events.end());
    sort_events(plan.events);
    return plan;
}

Plan plan(const garden::Garden& garden, const TimeZone& local, std::span<const DailyAir> record) {
    Plan plan = plan_dates(garden, record);
    plan.feasibility = feasibility(garden, local, plan.climate);
    return plan;
}

std::string ical(const Plan& plan) {
    return ical(plan.garden->site.name, plan.events, plan.stamp);
}

} // namespace firstmow::renovation
