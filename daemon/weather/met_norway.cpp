// MET Norway's Locationforecast: properties.timeseries[] of instants, with the rain of the hours
// that follow each. Steps of an hour first, of six hours later on.
#include "weather/json_in.hpp"
#include "weather/reference_et.hpp"
#include "weather/service.hpp"

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using weather::Reading;

constexpr hours kHour{1};
constexpr hours kLongestStep{12};

struct Instant {
    WallTime time;
    std::optional<double> temp_c, humidity_pct, dew_point_c, wind_m_s, cloud_pct;
    // Of the stretch that begins here.
    std::optional<double> rain_1h_mm, rain_6h_mm, probability_1h_pct, probability_6h_pct;
};

std::optional<Instant> instant_of(const Json& step) {
    const auto time = parse_time_with_offset(text(member(step, "time")));
    if (!time || *time != std::chrono::floor<hours>(*time)) return std::nullopt;
    Instant i;
    i.time = *time;
    const Json& data = member(step, "data");
    const Json& now = member(member(data, "instant"), "details");
    i.temp_c = number(member(now, "air_temperature"));
    i.humidity_pct = number(member(now, "relative_humidity"));
    i.dew_point_c = number(member(now, "dew_point_temperature"));
    i.wind_m_s = number(member(now, "wind_speed"));
    i.cloud_pct = number(member(now, "cloud_area_fraction"));
    const Json& one = member(member(data, "next_1_hours"), "details");
    const Json& six = member(member(data, "next_6_hours"), "details");
    i.rain_1h_mm = number(member(one, "precipitation_amount"));
    i.rain_6h_mm = number(member(six, "precipitation_amount"));
    i.probability_1h_pct = number(member(one, "probability_of_precipitation"));
    i.probability_6h_pct = number(member(six, "probability_of_precipitation"));
    return i;
}

// The line between two instants, at a share of the way.
std::optional<double> between(std::optional<double> a, std::optional<double> b, double share) {
    if (a && b) return *a + (*b - *a) * share;
    return a;
}

std::optional<double> share_of(std::optional<double> pct) {
    if (!pct) return std::nullopt;
    return *pct / 100;
}

} // namespace

Result<weather::Parcel> read_met_norway(std::string_view body, WallTime now) {
    const Json reply = parse_bounded(body);
    const Json& series = member(member(reply, "properties"), "timeseries");
    if (!series.is_array())
        return Error{"the answer has no properties.timeseries, as a forecast would have"};
    weather::Parcel parcel;
    parcel.kind = weather::ParcelKind::forecast;
    parcel.retrieved = now;
    std::optional<Instant> from;
    for (const Json& step : series) {
        const auto to = instant_of(step);
        if (!to) continue;
        if (!from || to->time <= from->time || to->time - from->time > kLongestStep) {
            if (!from || to->time > from->time) from = to;
            continue;
        }
        const auto length = (to->time - from->time) / kHour;
        if (length > 1 && !parcel.coarse_from) parcel.coarse_from = from->time;
        for (std::int64_t h = 0; h < length; ++h) {
            if (parcel.readings.size() == weather::kMostReadings) break;
            const double middle = (static_cast<double>(h) + 0.5) / static_cast<double>(length);
            const auto mid = [&](std::optional<double> Instant::*value) {
                return between((*from).*value, (*to).*value, middle);
            };
            Reading r;
            r.start = from->time + h * kHour;
            r.air_temp_c = mid(&Instant::temp_c);
            r.rel_humidity_pct = mid(&Instant::humidity_pct);
            r.dew_point_c = mid(&Instant::dew_point_c);
            r.cloud_fraction = share_of(mid(&Instant::cloud_pct));
            if (const auto wind = mid(&Instant::wind_m_s))
                r.wind_2m_m_s = weather::wind_at_2m_m_s(*wind, 10);
            if (h == 0 && from->rain_1h_mm) {
                r.rain_mm = from->rain_1h_mm;
                r.rain_probability = share_of(from->probability_1h_pct);
            } else if (from->rain_6h_mm && h < 6) {
                // Nobody says when in the six hours.
                r.rain_mm = *from->rain_6h_mm / 6;
                r.rain_probability = share_of(from->probability_6h_pct);
            }
            parcel.readings.push_back(r);
        }
        from = to;
    }
    if (parcel.readings.empty()) return Error{"the answer has no two steps that follow each other"};
    return parcel;
}

} // namespace firstmow::weather_source
