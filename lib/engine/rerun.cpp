// The last days once more: what a zone would be, had it had other factors.
#include "base/check.hpp"
#include "engine/parts.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

soil::Flows difference(const soil::Flows& a, const soil::Flows& b) {
    return {a.supply_mm - b.supply_mm,
            a.dew_mm - b.dew_mm,
            a.evaporation_mm - b.evaporation_mm,
            a.transpiration_mm - b.transpiration_mm,
            a.runoff_mm - b.runoff_mm,
            a.drainage_mm - b.drainage_mm,
            a.intake_mm - b.intake_mm};
}

// Everything of a zone's model but how far its grass has come, which people report.
void take_soil(watering::ZoneState& to, watering::ZoneState from) {
    from.progress = std::move(to.progress);
    to = std::move(from);
}

} // namespace

std::optional<std::vector<watering::HourDemand>> hours_since(const Setup& setup, const State& state,
                                                             const Past& past, WallTime now) {
    std::vector<watering::HourDemand> hours;
    weather::CloudMemory clouds;
    clouds.set(past.cloud_factor);
    for (const weather::Hour& hour : state.recent)
        if (hour.start >= past.at)
            hours.push_back(watering::hour_demand(setup.garden.site.place, hour, clouds));
    const auto settled = (state.settled_until - past.at) / kHour;
    if (settled < 0 || hours.size() != static_cast<std::size_t>(settled)) return std::nullopt;
    if (now <= state.settled_until) return hours;
    for (watering::HourDemand hour : hours_ahead(setup, state, now, Seconds{1})) {
        hour.rain_mm_per_h = watering::counted_rain_mm_per_h(hour);
        hours.push_back(hour);
    }
    return hours;
}

void run_again(const watering::ZoneSpec& spec, watering::ZoneState& zone, watering::Hours hours,
               const std::vector<Applied>& applied, WallTime from, WallTime to, soil::Flows& flows,
               soil::Flows* also) {
    for (WallTime at = from; at < to;) {
        const auto index = static_cast<std::size_t>((at - hours.front().start).count() / 3600);
        CHECK(index < hours.size());
        const watering::HourDemand& hour = hours[index];
        const WallTime end = std::min(at + watering::kGrid, to);
        const double rate =
            watering::ground_rate_mm_per_h(spec, hour) * open_share(applied, at, end);
        const soil::Flows step = watering::advance(spec, zone, hour, rate, end - at, end).mean;
        flows += step;
        if (also != nullptr) *also += step;
        at = end;
    }
}

void settle_again(Work& work, std::size_t zone) {
    ZoneRuntime& z = work.state.zones[zone];
    const WallTime until = work.state.settled_until;
    const auto hours = hours_since(work.setup, work.state, z.past, until);
    if (!hours || hours->empty()) return;
    const watering::ZoneSpec spec = own_spec(work.setup, work.state, zone);
    watering::ZoneState soil = z.past.zone;
    soil::Flows all;
    soil::Flows newer;
    run_again(spec, soil, *hours, z.applied, z.past.at, z.newer.at, all, nullptr);
    take_soil(z.newer.zone, soil);
    run_again(spec, soil, *hours, z.applied, z.newer.at, until, all, &newer);
    take_soil(z.settled, soil);
    const soil::Flows change = difference(all, z.past.flows);
    z.since_line += change;
    z.applied_later_mm += change.supply_mm;
    z.past.flows = all;
    z.newer.flows = newer;
}

} // namespace firstmow::engine
