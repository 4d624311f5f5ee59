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

void take_live(const LiveDates& live, Milestones& milestones) {
    milestones.first_green = live.first_green;
    milestones.all_up = live.all_up;
    milestones.rooted = live.rooted;
    milestones.first_mow = live.first_mow;
    milestones.grown_in = live.grown_in;
    milestones.live = true;
}

ZonePlan plan_zone(const garden::Garden& garden, const garden::Zone& zone, const Climate& climate,
                   const FirstFreezes& freezes, const Show& show, std::span<const LiveDates> live) {
    const garden::Establishment& establishment = zone.establishment;
    ZonePlan planned;
    planned.zone = &zone;
    planned.timing =
        timing(establishment, climate, frost_outlook(garden, freezes, *establishment.start), show);
    planned.milestones = milestones(establishment, climate);
    for (const LiveDates& known : live)
        if (known.zone == zone.id) take_live(known, planned.milestones);
    planned.quantities = quantities(
        zone, garden.renovation, planned.milestones.net_mm,
        climate.rain_known ? std::optional<double>(planned.milestones.rain_mm) : std::nullopt);
    planned.advice = advise(zone, garden.renovation, climate, planned.timing, show);
    planned.events = zone_events(zone, garden.renovation, planned.timing, planned.milestones,
                                 planned.quantities, show);
    for (const LiveDates& known : live)
        if (known.zone == zone.id && known.mow)
            planned.events.push_back({*known.mow, 1, zone.id, "mow_planned",
                                      zone.name + ": mow, as you said", known.mow_words});
    sort_events(planned.events);
    return planned;
}

} // namespace

Milestone milestone_of(const turf::When& when, const TimeZone& local) {
    const auto day = [&](const std::optional<WallTime>& moment) -> std::optional<Date> {
        if (!moment) return std::nullopt;
        return local.local_date(*moment);
    };
    return {day(when.likely), day(when.early), day(when.late)};
}

Plan plan_dates(const garden::Garden& garden, std::span<const DailyAir> record,
                std::span<const LiveDates> live, FrostFrom frost) {
    Plan plan;
    plan.garden = &garden;
    plan.climate = climate_of(garden.site.place, record);
    plan.cautions = cautions_for(garden);
    FirstFreezes freezes;
    if (frost == FrostFrom::record) freezes = first_freezes(record, plan.climate.southern());
    const Show show(garden.site.units);
    std::optional<Date> first;
    const ZonePlan* first_zone = nullptr;
    plan.zones.reserve(garden.zones.size());
    for (const garden::Zone& zone : garden.zones) {
        const garden::Establishment& establishment = zone.establishment;
        if (establishment.method == turf::Method::none || !establishment.start) continue;
        plan.zones.push_back(plan_zone(garden, zone, plan.climate, freezes, show, live));
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

Plan plan(const garden::Garden& garden, const TimeZone& local, std::span<const DailyAir> record,
          std::span<const LiveDates> live, FrostFrom frost) {
    Plan plan = plan_dates(garden, record, live, frost);
    plan.feasibility = feasibility(garden, local, plan.climate);
    return plan;
}

std::string ical(const Plan& plan, std::optional<WallTime> made) {
    return ical(plan.garden->site.name, plan.events, made.value_or(plan.stamp),
                made ? Reading::again_soon : Reading::once);
}

} // namespace firstmow::renovation
