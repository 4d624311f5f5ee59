// The hours that nobody has measured: what is thought of them, how far that is to be believed, and
// where the zones stand by it.
#include "base/check.hpp"
#include "engine/parts.hpp"
#include "weather/fill.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

const weather::Hour* forecast_at(const State& state, WallTime start) {
    if (state.forecast.empty()) return nullptr;
    const auto index = (start - state.forecast.front().start).count() / 3600;
    if (index < 0 || static_cast<std::size_t>(index) >= state.forecast.size()) return nullptr;
    return &state.forecast[static_cast<std::size_t>(index)];
}

watering::Trust trust_in(const State& state, WallTime start, WallTime now) {
    const auto thought = forecast_at(state, start) != nullptr ? watering::Thought::forecast
                                                              : watering::Thought::assumed;
    const double lead_h = static_cast<double>((start - now).count()) / 3600.0;
    return watering::trust_of(state.forecast_record, thought, lead_h);
}

} // namespace

weather::CloudMemory clouds_at(const State& state) {
    weather::CloudMemory clouds;
    clouds.set(state.cloud_factor);
    return clouds;
}

weather::Hour think_of(const Setup& setup, const State& state, WallTime start) {
    if (const weather::Hour* hour = forecast_at(state, start)) return *hour;
    return weather::assume(setup.garden.site.place, start, state.recent);
}

weather::Hour guessed(const Setup& setup, const State& state, WallTime start) {
    weather::Hour hour = think_of(setup, state, start);
    watering::HourDemand rain;
    rain.rain_mm_per_h = hour.rain_mm;
    rain.rain_probability = hour.rain_probability;
    if (hour.rain_probability < 1 || hour.rain_origin == weather::Origin::forecast)
        rain.rain_share = trust_in(state, start, start).rain_share;
    hour.rain_mm = watering::counted_rain_mm_per_h(rain);
    hour.rain_probability = 1;
    return hour;
}

void keep_record(const Setup& setup, State& state, const weather::Hour& hour,
                 const watering::HourDemand& demand) {
    using weather::Origin;
    const auto known = [](Origin origin) {
        return origin == Origin::measured || origin == Origin::estimated;
    };
    watering::score(state.forecast_record, hour.start,
                    known(hour.temp_origin) ? std::optional(demand.et_short_mm_per_h)
                                            : std::nullopt,
                    known(hour.rain_origin) ? std::optional(hour.rain_mm) : std::nullopt);
    for (std::size_t lead = 0; lead < watering::kLeads; ++lead) {
        const WallTime start = state.settled_until + watering::kLeadHours[lead] * kHour;
        weather::CloudMemory clouds = clouds_at(state);
        const bool told = forecast_at(state, start) != nullptr;
        const auto thought =
            watering::hour_demand(setup.garden.site.place, think_of(setup, state, start), clouds);
        watering::foretell(state.forecast_record,
                           {start, static_cast<std::uint8_t>(lead),
                            told ? watering::Thought::forecast : watering::Thought::assumed,
                            thought.et_short_mm_per_h,
                            thought.rain_mm_per_h * thought.rain_probability});
    }
}

std::vector<watering::HourDemand> hours_ahead(const Setup& setup, const State& state, WallTime now,
                                              Seconds ahead) {
    std::vector<watering::HourDemand> hours;
    weather::CloudMemory clouds = clouds_at(state);
    const WallTime from = std::min(state.settled_until, floor_hour(now));
    for (WallTime start = from; start < now + ahead; start += kHour) {
        weather::Hour hour = think_of(setup, state, start);
        const weather::Hour said = hour;
        correct_rain(setup, state, hour, now);
        watering::HourDemand demand = watering::hour_demand(setup.garden.site.place, hour, clouds);
        const watering::Trust trust = trust_in(state, start, now);
        if (demand.et_short_mm_per_h > 0) demand.et_short_mm_per_h *= trust.et_factor;
        demand.direct_et_mm_per_h *= trust.et_factor;
        demand.et_doubt = trust.et_doubt;
        if (!(hour == said))
            demand.rain_share = 1; // the gauge has seen it
        else if (hour.rain_origin == weather::Origin::forecast)
            demand.rain_share = trust.rain_share;
        hours.push_back(demand);
    }
    return hours;
}

watering::ZoneState zone_now(const Setup& setup, const State& state, std::size_t zone,
                             watering::Hours hours, WallTime now, double rain_from) {
    watering::ZoneState z = state.zones[zone].settled;
    const watering::ZoneSpec spec = own_spec(setup, state, zone);
    WallTime at = state.settled_until;
    while (at < now) {
        const auto index = static_cast<std::size_t>((at - state.settled_until).count() / 3600);
        CHECK(index < hours.size());
        watering::HourDemand hour = hours[index];
        hour.rain_mm_per_h = watering::counted_rain_mm_per_h(hour, rain_from);
        // The last step ends at `now`: the water of a run that has just ended must be seen.
        const WallTime end = std::min(at + watering::kGrid, now);
        const double rate = watering::ground_rate_mm_per_h(spec, hour) *
                            open_share(state.zones[zone].applied, at, end);
        watering::advance(spec, z, hour, rate, end - at, end);
        at = end;
    }
    return z;
}

} // namespace firstmow::engine
