// The US National Weather Service: /points/LAT,LON names the gridpoint, whose raw forecast has a
// layer for each variable: values with "validTime": "BEGIN/LENGTH", equal hours run together.
#include "weather/json_in.hpp"
#include "weather/reference_et.hpp"
#include "weather/service.hpp"

#include <algorithm>
#include <map>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using weather::Reading;

constexpr hours kHour{1};

enum class Of { instant, sum };

std::optional<double> in_our_unit(double value, std::string_view uom) {
    const auto colon = uom.find(':');
    const std::string_view unit = colon == std::string_view::npos ? uom : uom.substr(colon + 1);
    if (unit == "degF") return (value - 32) / 1.8;
    if (unit == "km_h-1") return value / 3.6;
    if (unit == "percent" || unit == "degC" || unit == "mm" || unit == "m_s-1" || unit.empty())
        return value;
    if (unit == "m") return value * 1000; // of water
    return std::nullopt;
}

class Grid {
public:
    explicit Grid(const Json& properties) : properties_(properties) {}

    template <class Put>
    void layer(const char* name, Of of, Put put) {
        const Json& layer = member(properties_, name);
        const std::string_view uom = text(member(layer, "uom"));
        const Json& values = member(layer, "values");
        if (!values.is_array()) return;
        for (const Json& one : values) {
            const std::string_view when = text(member(one, "validTime"));
            const auto slash = when.find('/');
            const auto told = number(member(one, "value"));
            if (!told || slash == std::string_view::npos) continue;
            const auto begin = parse_time_with_offset(when.substr(0, slash));
            const auto length = parse_hours(when.substr(slash + 1));
            const auto value = in_our_unit(*told, uom);
            if (!begin || !length || !value || *begin != std::chrono::floor<hours>(*begin))
                continue;
            for (int h = 0; h < *length; ++h) {
                const WallTime start = *begin + h * kHour;
                if (!hours_.contains(start) && hours_.size() == weather::kMostReadings) break;
                Reading& r = hours_[start];
                r.start = start;
                put(r, of == Of::sum ? *value / *length : *value);
            }
        }
    }

    std::vector<Reading> readings() const {
        std::vector<Reading> all;
        for (const auto& [start, reading] : hours_)
            all.push_back(reading);
        return all;
    }

private:
    const Json& properties_;
    std::map<WallTime, Reading> hours_;
};

// What a problem document (RFC 9457) says, if it is one.
std::string said(const Json& reply) {
    const std::string_view detail = text(member(reply, "detail"));
    return detail.empty() ? "" : ": " + std::string(detail.substr(0, 200));
}

} // namespace

Result<std::string> read_nws_point(std::string_view body) {
    const Json reply = parse_bounded(body);
    const std::string_view url = text(member(member(reply, "properties"), "forecastGridData"));
    // Of the address only the path: it is asked of the server that the garden names.
    const auto scheme = url.find("://");
    const auto path = scheme == std::string_view::npos ? scheme : url.find('/', scheme + 3);
    if (path == std::string_view::npos || !url.substr(path).starts_with("/gridpoints/") ||
        url.size() > 200)
        return Error{"the answer names no gridpoint (properties.forecastGridData)" + said(reply)};
    const std::string_view rest = url.substr(path);
    if (std::any_of(rest.begin(), rest.end(), [](char c) { return c <= ' ' || c > '~'; }))
        return Error{"the answer names a gridpoint that cannot be"};
    return std::string(rest);
}

Result<weather::Parcel> read_nws_grid(std::string_view body, WallTime now) {
    const Json reply = parse_bounded(body);
    const Json& properties = member(reply, "properties");
    if (!properties.is_object())
        return Error{"the answer has no \"properties\", as a forecast would have" + said(reply)};
    Grid grid(properties);
    grid.layer("temperature", Of::instant, [](Reading& r, double v) { r.air_temp_c = v; });
    grid.layer("dewpoint", Of::instant, [](Reading& r, double v) { r.dew_point_c = v; });
    grid.layer("relativeHumidity", Of::instant,
               [](Reading& r, double v) { r.rel_humidity_pct = v; });
    grid.layer("skyCover", Of::instant, [](Reading& r, double v) { r.cloud_fraction = v / 100; });
    grid.layer("windSpeed", Of::instant,
               [](Reading& r, double v) { r.wind_2m_m_s = weather::wind_at_2m_m_s(v, 10); });
    grid.layer("probabilityOfPrecipitation", Of::instant,
               [](Reading& r, double v) { r.rain_probability = v / 100; });
    grid.layer("quantitativePrecipitation", Of::sum, [](Reading& r, double v) { r.rain_mm = v; });
    weather::Parcel parcel;
    parcel.kind = weather::ParcelKind::forecast;
    parcel.retrieved = now;
    parcel.readings = grid.readings();
    const bool any = std::any_of(parcel.readings.begin(), parcel.readings.end(),
                                 [](const Reading& r) { return r.air_temp_c.has_value(); });
    if (!any) return Error{"the answer has no layer of temperatures" + said(reply)};
    return parcel;
}

} // namespace firstmow::weather_source
