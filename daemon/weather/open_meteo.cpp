// Open-Meteo: {"hourly_units":{...},"hourly":{"time":[...],"temperature_2m":[...],...}}, an array
// for each variable, as long as that of the times.
#include "weather/json_in.hpp"
#include "weather/reference_et.hpp"
#include "weather/service.hpp"

#include <map>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using weather::Reading;

constexpr hours kHour{1};

// What a value of the unit is in ours; nothing for a unit that is not known.
std::optional<double> in_our_unit(double value, std::string_view unit) {
    if (unit.empty() || unit == "°C" || unit == "%" || unit == "mm" || unit == "m/s" ||
        unit == "W/m²")
        return value;
    if (unit == "°F") return (value - 32) / 1.8;
    if (unit == "inch") return value * 25.4;
    if (unit == "km/h") return value / 3.6;
    if (unit == "mp/h" || unit == "mph") return value * 0.44704;
    if (unit == "kn") return value * 0.514444;
    return std::nullopt;
}

class Table {
public:
    explicit Table(const Json& reply)
        : hourly_(member(reply, "hourly")), units_(member(reply, "hourly_units")) {
        const Json& times = member(hourly_, "time");
        if (!times.is_array()) return;
        for (const Json& time : times) {
            if (times_.size() == weather::kMostReadings) break;
            times_.push_back(time_of(time));
        }
    }
    const std::vector<std::optional<WallTime>>& times() const { return times_; }

    std::optional<double> at(const char* variable, std::size_t i) const {
        const Json& values = member(hourly_, variable);
        if (!values.is_array() || i >= values.size()) return std::nullopt;
        const auto value = number(values[i]);
        return value ? in_our_unit(*value, text(member(units_, variable))) : std::nullopt;
    }

private:
    static std::optional<WallTime> time_of(const Json& time) {
        if (time.is_number_integer()) {
            const auto unix_s = time.get<std::int64_t>();
            if (unix_s < 0 || unix_s > 253402300799 || unix_s % 3600 != 0) return std::nullopt;
            return wall_from_unix(unix_s);
        }
        return std::nullopt;
    }

    const Json& hourly_;
    const Json& units_;
    std::vector<std::optional<WallTime>> times_;
};

std::optional<double> mean(std::optional<double> a, std::optional<double> b) {
    if (a && b) return (*a + *b) / 2;
    return a;
}

} // namespace

Result<weather::Parcel> read_open_meteo(std::string_view body, WallTime now) {
    const Json reply = parse_bounded(body);
    if (!reply.is_object()) return Error{"the answer is no JSON object"};
    if (member(reply, "error").is_boolean() && member(reply, "error").get<bool>())
        return Error{"the service says: " +
                     std::string(text(member(reply, "reason")).substr(0, 200))};
    const Table table(reply);
    if (table.times().empty())
        return Error{"the answer has no hourly times; \"hourly\" with \"time\" would be right"};
    weather::Parcel parcel;
    parcel.kind = weather::ParcelKind::forecast;
    parcel.retrieved = now;
    std::map<WallTime, Reading> hours_of;
    const auto reading = [&](WallTime start) -> Reading& {
        Reading& r = hours_of[start];
        r.start = start;
        return r;
    };
    for (std::size_t i = 0; i < table.times().size(); ++i) {
        const auto& time = table.times()[i];
        if (!time) continue;
        // Instants at the beginning of the hour; its end is the next one's beginning.
        const bool next = i + 1 < table.times().size() && table.times()[i + 1] == *time + kHour;
        const auto instant = [&](const char* variable) {
            return mean(table.at(variable, i), next ? table.at(variable, i + 1) : std::nullopt);
        };
        Reading& r = reading(*time);
        r.air_temp_c = instant("temperature_2m");
        r.rel_humidity_pct = instant("relative_humidity_2m");
        r.dew_point_c = instant("dew_point_2m");
        if (const auto wind = instant("wind_speed_10m"))
            r.wind_2m_m_s = weather::wind_at_2m_m_s(*wind, 10);
        r.soil_temp_c = instant("soil_temperature_6cm");
        if (const auto cloud = instant("cloud_cover")) r.cloud_fraction = *cloud / 100;
        // Sums and means of the hour that ends at the time.
        Reading& before = reading(*time - kHour);
        before.rain_mm = table.at("precipitation", i);
        before.solar_w_m2 = table.at("shortwave_radiation", i);
        if (const auto probability = table.at("precipitation_probability", i))
            before.rain_probability = *probability / 100;
    }
    bool any = false;
    for (const auto& [start, r] : hours_of) {
        any = any || r.air_temp_c;
        if (parcel.readings.size() < weather::kMostReadings) parcel.readings.push_back(r);
    }
    if (!any)
        return Error{"the answer has no temperatures at full hours in UTC; numbers of seconds "
                     "since 1970 in \"time\" would be right"};
    return parcel;
}

} // namespace firstmow::weather_source
