#include "weather/gather.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::weather {

namespace {

using std::chrono::hours;

constexpr hours kHour{1};
constexpr double kHalfAnHour_s = 1800;
constexpr std::size_t kMostDone = 200;

WallTime hour_of(WallTime t) {
    return std::chrono::floor<hours>(t);
}

void drop_not_finite(std::optional<double>& value) {
    if (value && !std::isfinite(*value)) value.reset();
}

} // namespace

void Gather::take(const Sample& told) {
    if (newest_ && told.time <= *newest_) return;
    Sample sample = told;
    for (auto* value : {&sample.air_temp_c, &sample.rel_humidity_pct, &sample.dew_point_c,
                        &sample.wind_2m_m_s, &sample.solar_w_m2, &sample.rain_counter_mm,
                        &sample.rain_last_hour_mm, &sample.soil_temp_c})
        drop_not_finite(*value);
    const WallTime from = newest_ ? std::max(*newest_, sample.time - kLongestStand)
                                  : sample.time - std::chrono::minutes{1};
    spread(sample, from, sample.time);
    count_rain(sample);
    newest_ = sample.time;
    last_ = sample;
    while (!open_.empty() && open_.front().start + kHour <= hour_of(sample.time)) {
        if (auto reading = close(open_.front()); reading && done_.size() < kMostDone)
            done_.push_back(*reading);
        open_.erase(open_.begin());
    }
}

Gather::Building& Gather::building(WallTime hour) {
    for (Building& one : open_)
        if (one.start == hour) return one;
    open_.push_back({});
    open_.back().start = hour;
    return open_.back();
}

// The sample stands for (from, to], which may lie in two hours.
void Gather::spread(const Sample& sample, WallTime from, WallTime to) {
    while (from < to) {
        const WallTime hour = hour_of(from);
        const WallTime end = std::min(to, hour + kHour);
        const auto weight = static_cast<double>((end - from).count());
        Building& b = building(hour);
        b.told_s += weight;
        b.temp.add(sample.air_temp_c, weight);
        b.humidity.add(sample.rel_humidity_pct, weight);
        b.dew_point.add(sample.dew_point_c, weight);
        b.wind.add(sample.wind_2m_m_s, weight);
        b.solar.add(sample.solar_w_m2, weight);
        b.soil.add(sample.soil_temp_c, weight);
        from = end;
    }
}

void Gather::count_rain(const Sample& sample) {
    // A reading at the full hour speaks of the hour that ends there.
    Building& b = building(hour_of(sample.time - Seconds{1}));
    if (sample.rain_counter_mm) {
        const double counter = *sample.rain_counter_mm;
        if (counter_mm_ && sample.time - counter_at_ <= kLongestRainGap) {
            // A counter that fell back began anew: what it shows has come since.
            const double risen = counter >= *counter_mm_ ? counter - *counter_mm_ : counter;
            b.rain_mm += std::max(risen, 0.0);
            b.rain_known = true;
        }
        counter_mm_ = counter;
        counter_at_ = sample.time;
    }
    if (sample.rain_last_hour_mm) {
        b.last_hour_mm = *sample.rain_last_hour_mm;
        b.last_hour_at = sample.time;
    }
}

std::optional<Reading> Gather::close(const Building& hour) {
    Reading reading;
    reading.start = hour.start;
    if (hour.told_s >= kHalfAnHour_s) {
        reading.air_temp_c = hour.temp.value();
        reading.rel_humidity_pct = hour.humidity.value();
        reading.dew_point_c = hour.dew_point.value();
        reading.wind_2m_m_s = hour.wind.value();
        reading.solar_w_m2 = hour.solar.value();
        reading.soil_temp_c = hour.soil.value();
    }
    if (hour.rain_known)
        reading.rain_mm = hour.rain_mm;
    else if (hour.last_hour_mm && hour.last_hour_at >= hour.start + std::chrono::minutes{50})
        reading.rain_mm = hour.last_hour_mm;
    Reading nothing;
    nothing.start = hour.start;
    if (reading == nothing) return std::nullopt;
    return reading;
}

std::vector<Reading> Gather::finished(WallTime now) {
    while (!open_.empty() && open_.front().start + kHour + kGrace <= now) {
        if (auto reading = close(open_.front())) done_.push_back(*reading);
        open_.erase(open_.begin());
    }
    std::vector<Reading> done;
    std::swap(done, done_);
    return done;
}

} // namespace firstmow::weather
