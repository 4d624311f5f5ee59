#include "sim/world.hpp"

#include "base/check.hpp"
#include "base/random.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace firstmow::sim {

namespace {

using std::chrono::hours;
using std::chrono::sys_days;

constexpr double kPi = std::numbers::pi;
constexpr double kSolarMjPerMin = 0.0820; // FAO-56
constexpr double kWattPerMjPerHour = 1e6 / 3600.0;

// Independent series of random numbers.
enum class Stream : std::uint64_t {
    air_mass = 1,
    wetness,
    windiness,
    temp_flutter,
    cloud_flutter,
    wind_flutter,
    rain,
};

// The random numbers of one day or hour of a stream, whatever was drawn before.
Random random_at(std::uint64_t seed, Stream stream, std::int64_t index) {
    Random of_stream(seed ^ (static_cast<std::uint64_t>(stream) << 48U));
    return Random(of_stream.bits() ^ static_cast<std::uint64_t>(index) * 0xD1B54A32D192ED03U);
}

// A first-order autoregressive series of unit variance at `index`, written as the weighted sum of
// its past shocks so that it can be entered anywhere.
double drift_at(std::uint64_t seed, Stream stream, std::int64_t index, double persistence) {
    constexpr double kForgotten = 1e-3;
    double sum = 0;
    for (double weight = 1; weight > kForgotten; weight *= persistence, --index)
        sum += weight * random_at(seed, stream, index).normal();
    return sum * std::sqrt(1 - persistence * persistence);
}

// Mean temperature of a day of the year: 27 deg C and even at the equator, cooler with seasons
// further apart towards the poles, warmest a month after midsummer, 6.5 deg C less per kilometre.
double season_mean_c(const weather::Place& place, int day_of_year) {
    const double sine = std::sin(place.latitude_deg * kPi / 180);
    const double season = std::cos(2 * kPi * (day_of_year - 201) / 365.25);
    return 27 - 36 * sine * sine + 21 * sine * season - 0.0065 * place.elevation_m;
}

bool within(const std::optional<DaySpan>& span, Date date) {
    return span && sys_days{date} >= sys_days{span->first} &&
           sys_days{date} <= sys_days{span->last};
}

// What a day is like as a whole; hours are counted from local midnight.
struct Day {
    double min_c = 0; // around sunrise
    double max_c = 0; // in the middle of the afternoon
    double dew_point_c = 0;
    double cloud = 0; // share of the sky, 0..1
    double windiness = 1;
    double sunrise_h = 6;
    double sunset_h = 18;
    bool calm_nights = false;
    bool storm = false;
    std::array<double, 24> rain_mm{};
};

constexpr double kWarmest = 15; // hour of the day
constexpr int kStormHour = 18;

void add_rain(Day& day, Random& random, int hour, int length, double total_mm) {
    std::array<double, 24> share{};
    double sum = 0;
    for (int i = 0; i < length; ++i)
        sum += share.at(static_cast<std::size_t>(i)) = 0.1 + random.uniform();
    for (int i = 0; i < length && hour + i < 24; ++i)
        day.rain_mm.at(static_cast<std::size_t>(hour + i)) +=
            total_mm * share.at(static_cast<std::size_t>(i)) / sum;
}

double exponential(Random& random, double mean) {
    return -mean * std::log(1 - random.uniform());
}

// Fronts on wet days; showers on the afternoons of warm days in damp air.
void let_rain(Day& day, Random random, double wetness) {
    const double front = random.uniform();
    const int front_hour = static_cast<int>(random.uniform(0, 16));
    const int front_length = static_cast<int>(random.uniform(3, 9));
    const double front_mm = 1 + std::min(exponential(random, 8), 60.0);
    if (wetness > 0.8 && front < 0.8) add_rain(day, random, front_hour, front_length, front_mm);

    const double shower = random.uniform();
    const int shower_hour = static_cast<int>(random.uniform(14, 19));
    const int shower_length = static_cast<int>(random.uniform(1, 3));
    const double shower_mm = 0.5 + std::min(exponential(random, 5), 40.0);
    if (day.max_c > 22 && day.dew_point_c > 13 && shower < 0.18)
        add_rain(day, random, shower_hour, shower_length, shower_mm);
}

Day ordinary_day(const WorldSpec& spec, std::uint64_t seed, sys_days date) {
    const std::int64_t n = date.time_since_epoch().count();
    const int of_year = day_of_year(Date{date});
    const double latitude_rad = spec.place.latitude_deg * kPi / 180;
    const double daylight = weather::daylight_hours(latitude_rad, of_year);
    const double wetness = drift_at(seed, Stream::wetness, n, 0.45);
    const double wet_before = drift_at(seed, Stream::wetness, n - 1, 0.45);

    Day day;
    // Where the sun never sets or never rises the day keeps a faint rhythm.
    day.sunrise_h = std::clamp(12 - daylight / 2, 3.0, 9.5);
    day.sunset_h = std::clamp(12 + daylight / 2, 16.0, 21.0);
    day.cloud = std::clamp(0.4 + 0.3 * wetness, 0.02, 1.0);
    day.windiness = std::exp(0.35 * drift_at(seed, Stream::windiness, n, 0.5) + 0.15 * wetness);

    // Warm ahead of a front, cooler behind it.
    const double mean = season_mean_c(spec.place, of_year) +
                        2.6 * drift_at(seed, Stream::air_mass, n, 0.75) + 1.2 * wetness -
                        1.8 * wet_before;
    const double sun_mj = weather::extraterrestrial_daily_mj(latitude_rad, of_year, kSolarMjPerMin);
    const double range = 2 + 13 * std::min(sun_mj / 40, 1.0) * (1 - 0.7 * day.cloud);
    day.min_c = mean - range / 2;
    day.max_c = mean + range / 2;
    day.dew_point_c = std::min(mean - std::clamp(7.5 - 2.2 * wetness, 1.5, 14.0), 25.0);
    let_rain(day, random_at(seed, Stream::rain, n), wetness);
    return day;
}

void make_dewy(Day& day) {
    const double mean = (day.min_c + day.max_c) / 2;
    const double range = std::max(day.max_c - day.min_c, 11.0);
    day.min_c = mean - range / 2;
    day.max_c = mean + range / 2;
    day.cloud = 0.05;
    day.dew_point_c = day.min_c + 1.5;
    day.calm_nights = true;
    day.rain_mm = {};
}

void make_hot(Day& day, double peak_c, int days_left) {
    day.max_c = peak_c - 1.2 * std::max(days_left - 1, 0);
    day.min_c = day.max_c - 14;
    day.cloud = 0.03;
    day.dew_point_c = day.max_c - 19;
    day.windiness = std::max(day.windiness, 1.1);
    day.rain_mm = {};
}

void make_storm(Day& day, double storm_mm) {
    day.max_c = std::max(day.max_c, day.min_c + 9);
    day.cloud = std::min(day.cloud, 0.4); // sun first, that is what feeds it
    day.dew_point_c = day.min_c + 1;
    day.storm = true;
    day.rain_mm = {};
    day.rain_mm.at(kStormHour) = 0.7 * storm_mm;
    day.rain_mm.at(kStormHour + 1) = 0.3 * storm_mm;
}

Day day_at(const WorldSpec& spec, std::uint64_t seed, sys_days date) {
    Day day = ordinary_day(spec, seed, date);
    const bool storm = spec.storm && sys_days{*spec.storm} == date;
    if (storm)
        make_storm(day, spec.storm_mm);
    else if (within(spec.hot_spell, Date{date}))
        make_hot(day, spec.hot_peak_c, days_between(Date{date}, spec.hot_spell->last));
    else if (within(spec.dewy, Date{date}))
        make_dewy(day);
    return day;
}

double between(double a, double b, double share) {
    return a + (b - a) * share;
}

// A smooth passage from a to b while `share` goes from 0 to 1.
double eased(double a, double b, double share) {
    return between(a, b, (1 - std::cos(kPi * std::clamp(share, 0.0, 1.0))) / 2);
}

// The three days around an hour.
struct Days {
    const Day& before;
    const Day& now;
    const Day& after;
};

// `h`: the middle of the hour, counted from local midnight.
double air_temp_c(const Days& days, double h) {
    const Day& now = days.now;
    const auto evening = [h](const Day& today, const Day& tomorrow, double since_midnight) {
        const double night = 24 - kWarmest + tomorrow.sunrise_h;
        const double share = (since_midnight - kWarmest) / night;
        // Quick after sunset, slow towards morning.
        return eased(today.max_c, tomorrow.min_c, std::pow(std::clamp(share, 0.0, 1.0), 0.8));
    };
    if (h < now.sunrise_h) return evening(days.before, now, h + 24);
    if (h > kWarmest) return evening(now, days.after, h);
    return eased(now.min_c, now.max_c, (h - now.sunrise_h) / (kWarmest - now.sunrise_h));
}

// Daily values stand at noon and pass into each other.
double from_noon_to_noon(const Days& days, double Day::*value, double h) {
    if (h < 12) return between(days.before.*value, days.now.*value, (h + 12) / 24);
    return between(days.now.*value, days.after.*value, (h - 12) / 24);
}

bool is_night(const Day& day, double h) {
    return h < day.sunrise_h || h > day.sunset_h;
}

double wind_m_s(const Days& days, double h, double flutter) {
    const Day& day = days.now;
    if (day.calm_nights && is_night(day, h)) return 0.5 * std::exp(0.1 * flutter);
    const double by_day = std::max(std::sin(kPi * (h - 7) / 14), 0.0); // 7 to 21 h
    const double gust = day.storm && h > kStormHour && h < kStormHour + 2 ? 3.5 : 0;
    const double wind = (0.9 + 2.1 * by_day) * from_noon_to_noon(days, &Day::windiness, h);
    return std::clamp(wind * std::exp(0.18 * flutter) + gust, 0.2, 25.0);
}

double cloud_share(const Days& days, double h, double rain_mm, double flutter) {
    const Day& day = days.now;
    if (rain_mm > 0) return std::max(0.93, day.cloud);
    if (day.storm && h > kStormHour - 2 && h < kStormHour + 4) return 0.95;
    // Half-covered skies change most; a clear one stays clear.
    const double cloud = from_noon_to_noon(days, &Day::cloud, h);
    return std::clamp(cloud + 0.5 * cloud * (1.2 - cloud) * flutter, 0.0, 1.0);
}

// What reaches the ground: the clear sky of FAO-56 Eq. 37, less what clouds keep (Kasten and
// Czeplak 1980).
double solar_w_m2(const weather::Place& place, WallTime start, double cloud) {
    const weather::HourSun sun = weather::hour_sun(place, start, kSolarMjPerMin);
    const double clear = weather::clear_sky_mj(sun.extraterrestrial_mj, place.elevation_m);
    return clear * kWattPerMjPerHour * (1 - 0.75 * std::pow(cloud, 3.4));
}

weather::Reading hour_of(const WorldSpec& spec, std::uint64_t seed, const Days& days,
                         WallTime start, int hour_of_day) {
    const std::int64_t n = start.time_since_epoch() / hours{1};
    const double h = hour_of_day + 0.5;
    const double rain = days.now.rain_mm.at(static_cast<std::size_t>(hour_of_day));

    double temp = air_temp_c(days, h) + 0.25 * drift_at(seed, Stream::temp_flutter, n, 0.6);
    if (rain > 0) temp -= 1.5;
    // The cold outflow of a storm passes off by midnight.
    if (days.now.storm && h > kStormHour) temp -= 5 * (1 - (h - kStormHour) / 6);
    temp = std::clamp(temp, -55.0, 55.0);

    double dew_point = from_noon_to_noon(days, &Day::dew_point_c, h);
    if (rain > 0) dew_point = std::max(dew_point, temp - 1);
    dew_point = std::min(dew_point, temp - 0.25); // what is more has fallen as dew
    const double humidity =
        100 * weather::saturation_vapour_kpa(dew_point) / weather::saturation_vapour_kpa(temp);
    const double cloud = cloud_share(days, h, rain, drift_at(seed, Stream::cloud_flutter, n, 0.7));

    weather::Reading reading;
    reading.start = start;
    reading.air_temp_c = temp;
    reading.rel_humidity_pct = std::clamp(humidity, 3.0, 100.0);
    reading.wind_2m_m_s = wind_m_s(days, h, drift_at(seed, Stream::wind_flutter, n, 0.7));
    reading.solar_w_m2 = std::clamp(solar_w_m2(spec.place, start, cloud), 0.0, 1500.0);
    reading.rain_mm = std::clamp(rain, 0.0, 200.0);
    return reading;
}

} // namespace

std::vector<weather::Reading> invent(const WorldSpec& spec, std::uint64_t seed) {
    CHECK(std::chrono::floor<hours>(spec.from) == spec.from);
    CHECK(spec.hours >= 0 && spec.hours <= kMostWorldHours);
    CHECK(std::abs(spec.place.latitude_deg) <= 90 && std::abs(spec.place.longitude_deg) <= 180);

    const hours offset{std::lround(spec.place.longitude_deg / 15)};
    const sys_days first = std::chrono::floor<std::chrono::days>(spec.from + offset);
    std::vector<Day> days; // from the day before the first to the day after the last
    for (int i = -1; i <= spec.hours / 24 + 2; ++i)
        days.push_back(day_at(spec, seed, first + std::chrono::days{i}));

    std::vector<weather::Reading> readings;
    readings.reserve(static_cast<std::size_t>(spec.hours));
    for (int i = 0; i < spec.hours; ++i) {
        const WallTime start = spec.from + hours{i};
        const auto since_first = (start + offset - WallTime{first}) / hours{1};
        const auto d = static_cast<std::size_t>(since_first / 24 + 1);
        readings.push_back(hour_of(spec, seed, {days[d - 1], days[d], days[d + 1]}, start,
                                   static_cast<int>(since_first % 24)));
    }
    return readings;
}

} // namespace firstmow::sim
