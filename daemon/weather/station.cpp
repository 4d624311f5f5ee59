#include "weather/station.hpp"

#include "base/text.hpp"
#include "weather/json_in.hpp"
#include "weather/reference_et.hpp"

#include <algorithm>
#include <map>

namespace firstmow::weather_source {

namespace {

using weather::Reading;
using weather::Sample;

constexpr std::chrono::minutes kClocksDiffer{10};
constexpr std::chrono::minutes kSilent{30};
constexpr double kMmPerInch = 25.4;
constexpr std::size_t kMostFields = 128;

bool is_empty(const Sample& sample) {
    Sample nothing;
    nothing.time = sample.time;
    return sample == nothing;
}

int digit_of(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

// application/x-www-form-urlencoded; a '%' that begins no escape stands for itself.
std::string decoded(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '%' && i + 2 < text.size() && digit_of(text[i + 1]) >= 0 &&
            digit_of(text[i + 2]) >= 0) {
            out += static_cast<char>(digit_of(text[i + 1]) * 16 + digit_of(text[i + 2]));
            i += 2;
        } else {
            out += text[i] == '+' ? ' ' : text[i];
        }
    }
    return out;
}

std::optional<double> wind_at_2m(std::optional<double> wind_m_s, double height_m) {
    if (!wind_m_s || height_m == 2) return wind_m_s;
    return weather::wind_at_2m_m_s(*wind_m_s, height_m);
}

// The time of a reading, or an Error; `now` when it is not told.
Result<WallTime> time_of(const Json& object, WallTime now) {
    const Json& time = member(object, "time");
    if (time.is_null()) return now;
    const Result<WallTime> read = parse_iso8601(text(time));
    if (!read)
        return Error{"\"time\" is no time; one such as \"2026-08-22T13:04:00Z\" would be right"};
    if (*read > now + kClocksDiffer)
        return Error{"\"time\" " + to_iso8601(*read) + " lies ahead of the daemon's clock (" +
                     to_iso8601(now) + "); the station's clock wants setting"};
    return *read;
}

Result<Sample> sample_of(const Json& object, WallTime now, double wind_height_m) {
    const Result<WallTime> time = time_of(object, now);
    if (!time) return time.error();
    Sample s;
    s.time = *time;
    s.air_temp_c = number(member(object, "air_temp_c"));
    s.rel_humidity_pct = number(member(object, "rel_humidity_pct"));
    s.dew_point_c = number(member(object, "dew_point_c"));
    s.wind_2m_m_s = wind_at_2m(number(member(object, "wind_m_s")), wind_height_m);
    s.solar_w_m2 = number(member(object, "solar_w_m2"));
    s.rain_counter_mm = number(member(object, "rain_counter_mm"));
    s.rain_last_hour_mm = number(member(object, "rain_last_hour_mm"));
    s.soil_temp_c = number(member(object, "soil_temp_c"));
    if (is_empty(s))
        return Error{"a reading has none of \"air_temp_c\", \"rel_humidity_pct\", \"dew_point_c\", "
                     "\"wind_m_s\", \"solar_w_m2\", \"rain_counter_mm\", \"rain_last_hour_mm\", "
                     "\"soil_temp_c\" as a number"};
    return s;
}

Result<Reading> hour_of(const Json& object, WallTime now) {
    const Result<WallTime> time = time_of(object, now);
    if (!time) return time.error();
    Reading r;
    r.start = *time;
    if (member(object, "time").is_null() || *time != std::chrono::floor<std::chrono::hours>(*time))
        return Error{"an hour needs its start as \"time\", on the full hour"};
    r.air_temp_c = number(member(object, "air_temp_c"));
    r.rel_humidity_pct = number(member(object, "rel_humidity_pct"));
    r.dew_point_c = number(member(object, "dew_point_c"));
    r.wind_2m_m_s = number(member(object, "wind_2m_m_s"));
    r.solar_w_m2 = number(member(object, "solar_w_m2"));
    r.rain_mm = number(member(object, "rain_mm"));
    r.soil_temp_c = number(member(object, "soil_temp_c"));
    Reading nothing;
    nothing.start = r.start;
    if (r == nothing)
        return Error{"an hour has none of \"air_temp_c\", \"rel_humidity_pct\", \"dew_point_c\", "
                     "\"wind_2m_m_s\", \"solar_w_m2\", \"rain_mm\", \"soil_temp_c\" as a number"};
    return r;
}

// "2026-08-22 13:04:00", "now", or nothing: now.
Result<WallTime> time_of_form(const std::string& text, WallTime now) {
    if (text.empty() || text == "now") return now;
    std::string iso = text;
    if (iso.size() > 10 && iso[10] == ' ') iso[10] = 'T';
    if (!iso.ends_with('Z')) iso += 'Z';
    const Result<WallTime> time = parse_iso8601(iso);
    if (!time)
        return Error{"dateutc is no time; \"2026-08-22 13:04:00\" or \"now\" would be right"};
    if (*time > now + kClocksDiffer)
        return Error{"dateutc " + to_iso8601(*time) + " lies ahead of the daemon's clock (" +
                     to_iso8601(now) + "); the station's clock wants setting"};
    return *time;
}

} // namespace

Result<StationWord> read_station_json(std::string_view body, WallTime now, double wind_height_m) {
    const Json told = parse_bounded(body);
    if (!told.is_object())
        return Error{"the body is no JSON object; a reading such as {\"air_temp_c\": 24.1} would "
                     "be right"};
    StationWord word;
    const Json& readings = member(told, "readings");
    const Json& hours = member(told, "hours");
    if (readings.is_null() && hours.is_null()) {
        const Result<Sample> sample = sample_of(told, now, wind_height_m);
        if (!sample) return sample.error();
        word.samples.push_back(*sample);
        return word;
    }
    for (const Json* list : {&readings, &hours})
        if (!list->is_null() && (!list->is_array() || list->size() > kMostStationWords))
            return Error{"\"readings\" and \"hours\" are lists of at most " +
                         std::to_string(kMostStationWords)};
    for (const Json& reading : readings) {
        const Result<Sample> sample = sample_of(reading, now, wind_height_m);
        if (!sample) return sample.error();
        word.samples.push_back(*sample);
    }
    for (const Json& hour : hours) {
        const Result<Reading> reading = hour_of(hour, now);
        if (!reading) return reading.error();
        word.hours.push_back(*reading);
    }
    return word;
}

Result<StationWord> read_station_form(std::string_view form, WallTime now, double wind_height_m) {
    std::map<std::string, std::string, std::less<>> fields;
    while (!form.empty() && fields.size() < kMostFields) {
        const auto end = std::min(form.find('&'), form.size());
        const std::string_view pair = form.substr(0, end);
        form.remove_prefix(std::min(end + 1, form.size()));
        const auto equals = pair.find('=');
        if (equals == std::string_view::npos || equals > 64) continue;
        fields.emplace(decoded(pair.substr(0, equals)), decoded(pair.substr(equals + 1)));
    }
    const auto value = [&](const char* name) -> std::optional<double> {
        const auto found = fields.find(name);
        if (found == fields.end()) return std::nullopt;
        const auto number = parse_number(found->second);
        // How such stations say "no sensor".
        if (!number || *number <= -999) return std::nullopt;
        return number;
    };
    const auto celsius = [](std::optional<double> f) -> std::optional<double> {
        if (!f) return std::nullopt;
        return (*f - 32) / 1.8;
    };
    const auto times = [](std::optional<double> v, double factor) -> std::optional<double> {
        if (!v) return std::nullopt;
        return *v * factor;
    };
    const auto date = fields.find("dateutc");
    const Result<WallTime> time =
        time_of_form(date == fields.end() ? std::string() : date->second, now);
    if (!time) return time.error();
    Sample s;
    s.time = *time;
    s.air_temp_c = celsius(value("tempf"));
    s.rel_humidity_pct = value("humidity");
    s.dew_point_c = celsius(value("dewptf"));
    s.wind_2m_m_s = wind_at_2m(times(value("windspeedmph"), 0.44704), wind_height_m);
    s.solar_w_m2 = value("solarradiation");
    s.soil_temp_c = celsius(value("soiltempf"));
    for (const char* counter : {"totalrainin", "yearlyrainin", "dailyrainin"})
        if (!s.rain_counter_mm) s.rain_counter_mm = times(value(counter), kMmPerInch);
    for (const char* hourly : {"hourlyrainin", "rainin"})
        if (!s.rain_last_hour_mm) s.rain_last_hour_mm = times(value(hourly), kMmPerInch);
    if (is_empty(s))
        return Error{"the query has none of tempf, humidity, dewptf, windspeedmph, solarradiation, "
                     "dailyrainin, rainin as a number"};
    StationWord word;
    word.samples.push_back(s);
    return word;
}

Status PushFeed::take(std::string_view text, bool json, WallTime now) {
    const Result<StationWord> word = json ? read_station_json(text, now, wind_height_m_)
                                          : read_station_form(text, now, wind_height_m_);
    if (!word) {
        refused_ = word.error().message;
        return word.error();
    }
    refused_.clear();
    last_heard_ = now;
    for (const Sample& sample : word->samples)
        gather_.take(sample);
    for (const Reading& hour : word->hours)
        if (hours_.size() < weather::kMostReadings) hours_.push_back(hour);
    return Done{};
}

std::vector<weather::Parcel> PushFeed::collect(WallTime now) {
    std::vector<Reading> readings = std::exchange(hours_, {});
    for (const Reading& hour : gather_.finished(now))
        readings.push_back(hour);
    if (readings.empty()) return {};
    weather::Parcel parcel;
    parcel.source = number_;
    parcel.kind = weather::ParcelKind::measured;
    parcel.retrieved = now;
    parcel.readings = std::move(readings);
    return {parcel};
}

FeedStatus PushFeed::status(WallTime now) const {
    FeedStatus status;
    status.last_good = last_heard_;
    status.detail = refused_;
    if (last_heard_ && now - *last_heard_ <= kSilent && refused_.empty()) {
        status.state = FeedStatus::State::ok;
    } else if (last_heard_ || !refused_.empty()) {
        status.state = FeedStatus::State::failing;
        if (refused_.empty()) status.detail = "nothing was heard of it";
    } else {
        status.detail = "it has not told anything yet";
    }
    return status;
}

} // namespace firstmow::weather_source
