#include "renovation/climate.hpp"

#include "weather/reference_et.hpp"
#include "weather/sun.hpp"
#include "weather/usual.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::renovation {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kDays = 366;
constexpr int kWindow = 15; // days on either side that a day of the year is averaged over
constexpr int kKnownDays = 300;
constexpr double kUsualRange = 12; // K between night and day
constexpr double kMostUsableRain_mm = 8;
constexpr double kRecordSpread = 2;  // default: two or three weeks differ by 2 K between years
constexpr double kThumbSpread = 3.5; // default: the years and the rule together

std::size_t index_of(Date date) {
    return static_cast<std::size_t>(day_of_year(date) - 1);
}

struct Sums {
    double sum = 0;
    int count = 0;
    void add(double value) {
        sum += value;
        ++count;
    }
};
using Year = std::array<Sums, kDays>;

// The mean over the window around each day; nothing when a day has none.
std::optional<std::array<double, kDays>> smoothed(const Year& year) {
    std::array<double, kDays> means{};
    for (int day = 0; day < kDays; ++day) {
        double sum = 0;
        int count = 0;
        for (int offset = -kWindow; offset <= kWindow; ++offset) {
            const Sums& near = year[static_cast<std::size_t>((day + offset + kDays) % kDays)];
            sum += near.sum;
            count += near.count;
        }
        if (count == 0) return std::nullopt;
        means[static_cast<std::size_t>(day)] = sum / count;
    }
    return means;
}

bool fill_from_record(Climate& climate, std::span<const DailyAir> record) {
    Year minima;
    Year ranges;
    Year rains;
    for (const DailyAir& day : record) {
        if (day.rain_mm) rains[index_of(day.date)].add(std::min(*day.rain_mm, kMostUsableRain_mm));
        if (!day.min_c) continue;
        minima[index_of(day.date)].add(*day.min_c);
        if (day.max_c) ranges[index_of(day.date)].add(*day.max_c - *day.min_c);
    }
    const auto known = std::count_if(minima.begin(), minima.end(),
                                     [](const Sums& sums) { return sums.count > 0; });
    if (known < kKnownDays) return false;
    const auto min_c = smoothed(minima);
    if (!min_c) return false;
    const auto range = smoothed(ranges);
    if (const auto rain = smoothed(rains)) {
        climate.usable_rain_mm = *rain;
        climate.rain_known = true;
    }
    climate.min_c = *min_c;
    for (std::size_t day = 0; day < kDays; ++day)
        climate.max_c[day] = (*min_c)[day] + (range ? (*range)[day] : kUsualRange);
    return true;
}

template <class Test>
std::optional<Date> first_lasting(const Climate& climate, Date from, const Test& test) {
    constexpr int kLasting = 30;
    int run = 0;
    for (int day = 0; day < 366 + kLasting; ++day) {
        run = test(soil_temp_c(climate, add_days(from, day))) ? run + 1 : 0;
        if (run == kLasting) return add_days(from, day - kLasting + 1);
    }
    return std::nullopt;
}

} // namespace

double Climate::min_on(Date date) const {
    return min_c[index_of(date)];
}
double Climate::usable_rain_on(Date date) const {
    return usable_rain_mm[index_of(date)];
}
double Climate::max_on(Date date) const {
    return max_c[index_of(date)];
}

Climate climate_of(const weather::Place& place, std::span<const DailyAir> record) {
    Climate climate;
    climate.place = place;
    climate.from_record = fill_from_record(climate, record);
    climate.spread_c = climate.from_record ? kRecordSpread : kThumbSpread;
    if (climate.from_record) return climate;
    for (int day = 1; day <= kDays; ++day) {
        const auto k = static_cast<std::size_t>(day - 1);
        const double mean = weather::usual_mean_c(place, day);
        climate.min_c[k] = mean - kUsualRange / 2;
        climate.max_c[k] = mean + kUsualRange / 2;
    }
    return climate;
}

double soil_temp_c(const Climate& climate, Date date) {
    double sum = 0;
    for (int back = 0; back < 11; ++back)
        sum += climate.mean_on(add_days(date, -back));
    return std::max(sum / 11, 0.0);
}

double usual_eto_mm(const Climate& climate, Date date) {
    constexpr double kSolarConstant = 0.0820;
    const double above_air_mj = weather::extraterrestrial_daily_mj(
        climate.place.latitude_deg * kPi / 180, day_of_year(date), kSolarConstant);
    return std::max(
        0.0, weather::hargreaves_et_mm(above_air_mj, climate.min_on(date), climate.max_on(date)));
}

double growing_degree_days(const Climate& climate, Date from, Date to) {
    double sum = 0;
    for (Date date = from; date < to; date = add_days(date, 1))
        sum += std::max(0.0, climate.mean_on(date) - 5);
    return sum;
}

std::optional<Date> soil_stays_below(const Climate& climate, Date from, double temp_c) {
    return first_lasting(climate, from, [&](double soil) { return soil <= temp_c; });
}

std::optional<Date> soil_stays_above(const Climate& climate, Date from, double temp_c) {
    return first_lasting(climate, from, [&](double soil) { return soil >= temp_c; });
}

} // namespace firstmow::renovation
