// What a station of the owner's sends to the daemon's own port, read with bounds.
//
// Two forms. JSON, in our units: a reading, or {"readings": [...]}, or {"hours": [...]} of means:
//   {"time": "2026-08-22T13:04:00Z", "air_temp_c": 24.1, "rel_humidity_pct": 52, "wind_m_s": 1.4,
//    "solar_w_m2": 610, "rain_counter_mm": 12.6}
// ("dew_point_c" and "rain_last_hour_mm" too; an hour has "wind_2m_m_s" and "rain_mm" instead, and
// its time is its start; without a time a reading is of now.) And the query string that consumer
// stations send, in their imperial units: tempf, humidity, dewptf, windspeedmph, solarradiation,
// rain counters in inches (totalrainin, yearlyrainin, dailyrainin) or rainin, dateutc.
#pragma once

#include "base/result.hpp"
#include "weather/feed.hpp"
#include "weather/gather.hpp"

#include <cstdint>
#include <string_view>

namespace firstmow::weather_source {

struct StationWord {
    std::vector<weather::Sample> samples; // in the order in which they were told
    std::vector<weather::Reading> hours;
};
inline constexpr std::size_t kMostStationWords = 500;

// `wind_height_m`: of the station's anemometer; wind is brought to 2 m.
Result<StationWord> read_station_json(std::string_view body, WallTime now, double wind_height_m);
Result<StationWord> read_station_form(std::string_view form, WallTime now, double wind_height_m);

// A source that is told from outside, through the HTTP server. No thread.
class PushFeed : public Feed {
public:
    PushFeed(std::uint8_t number, double wind_height_m)
        : number_(number), wind_height_m_(wind_height_m) {}
    // An Error says what is wrong with it and what would be right; nothing of it is then used.
    Status take(std::string_view text, bool json, WallTime now);
    std::vector<weather::Parcel> collect(WallTime now) override;
    FeedStatus status(WallTime now) const override;

private:
    std::uint8_t number_;
    double wind_height_m_;
    weather::Gather gather_;
    std::vector<weather::Reading> hours_;
    std::optional<WallTime> last_heard_;
    std::string refused_; // why the last word was
};

} // namespace firstmow::weather_source
