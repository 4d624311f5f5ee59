// Readings of a station, as they come every minute or so, gathered into hours.
//
// Means are over time: a reading stands for the time since the one before, but for kLongestStand at
// most, so that one reading after a silence does not speak for all of it. An hour is given when a
// reading of a later one has come, or its end is kGrace past; it needs readings that stand for half
// of it. Rain comes as a counter that goes up (and falls back at midnight, at a reset, by a new
// battery), or as the rain of the last 60 minutes.
#pragma once

#include "weather/hour.hpp"

#include <optional>
#include <vector>

namespace firstmow::weather {

// A moment's reading. Values out of range are for quality.hpp to judge, once they are an hour.
struct Sample {
    WallTime time;
    std::optional<double> air_temp_c{};
    std::optional<double> rel_humidity_pct{};
    std::optional<double> dew_point_c{};
    std::optional<double> wind_2m_m_s{};
    std::optional<double> solar_w_m2{};
    std::optional<double> rain_counter_mm{};   // since whenever
    std::optional<double> rain_last_hour_mm{}; // used where no counter is told
    std::optional<double> soil_temp_c{};
    bool operator==(const Sample&) const = default;
};

class Gather {
public:
    static constexpr std::chrono::minutes kLongestStand{20};
    static constexpr std::chrono::minutes kGrace{2};
    // A gap in a counter longer than this: nobody knows when that rain fell.
    static constexpr std::chrono::hours kLongestRainGap{6};

    // Samples out of order (older than the newest) are dropped, as are values that are not finite.
    void take(const Sample& sample);
    // The hours that are whole by `now`, in order, each once.
    std::vector<Reading> finished(WallTime now);

    std::optional<WallTime> newest() const { return newest_; }
    const std::optional<Sample>& last() const { return last_; }

private:
    struct Mean {
        double sum = 0;
        double weight_s = 0;
        void add(const std::optional<double>& value, double weight) {
            if (!value) return;
            sum += *value * weight;
            weight_s += weight;
        }
        std::optional<double> value() const {
            if (weight_s <= 0) return std::nullopt;
            return sum / weight_s;
        }
    };
    struct Building {
        WallTime start;
        Mean temp, humidity, dew_point, wind, solar, soil;
        double told_s = 0; // for so much of the hour something stands
        double rain_mm = 0;
        bool rain_known = false;
        std::optional<double> last_hour_mm; // of the newest reading of the hour
        WallTime last_hour_at;
    };

    void spread(const Sample& sample, WallTime from, WallTime to);
    void count_rain(const Sample& sample);
    Building& building(WallTime hour);
    static std::optional<Reading> close(const Building& hour);

    std::vector<Building> open_; // in order; two at most
    std::vector<Reading> done_;
    std::optional<WallTime> newest_;
    std::optional<Sample> last_;
    std::optional<double> counter_mm_;
    WallTime counter_at_;
};

} // namespace firstmow::weather
