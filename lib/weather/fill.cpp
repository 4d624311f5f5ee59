#include "weather/fill.hpp"

#include "base/check.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::weather {

namespace {

using std::chrono::hours;

constexpr double kPi = std::numbers::pi;
constexpr double kSolarConstant = 0.0820; // MJ/m2/min (FAO-56)
constexpr double kWattsPerMjHour = 1 / 0.0036;
// FAO-56 p. 60 gives 0.16 inland and 0.19 at coasts; half-way was the best over the measured
// seasons (bench `fill`).
constexpr double kRs = 0.175;
constexpr double kWindUnknown_m_s = 2; // FAO-56 p. 63: the mean of 2000 stations
constexpr hours kFarthestBack{72};
// A daily range needs most of a day; with fewer hours it would be guessed too small.
constexpr int kHoursForRange = 18;
// A day in `past` older than this says nothing about now.
constexpr hours kStalePast{24 * 30};
// How long a departure of temperature, humidity and wind from the day before lasts until a third of
// it is left; from the season, which may be wrong of a place, longer. Best of fourteen ways over
// seven measured seasons (bench `ahead`), and hardly better than its neighbours.
constexpr double kDayLasts_h = 6;
constexpr double kSeasonLasts_h = 48;
constexpr double kSeasonWindLasts_h = 12;
constexpr double kMemories = 5;          // after so many of them nothing is left of it
constexpr double kLeastVapourKpa = 0.05; // a departure does not make air drier (default)

// The air of a warm, clear day at a place and time of the year.
struct SeasonAir {
    double temp_c = 0; // of the hour
    double temp_min_c = 0;
};

// A rule of thumb with no source: the yearly mean falls with the square of the latitude, the
// swing between summer and winter grows with it and lags the sun by a month; 6.5 K/km (standard
// atmosphere); 5 K above the mean and a range of 12 K for a clear day. Wrong by many degrees in
// a given place, always a possible warm day: it serves when there is nothing else at all.
SeasonAir season_air(const Place& place, WallTime start) {
    const double latitude = place.latitude_deg;
    const double yearly_mean = 28 - 0.0096 * latitude * latitude;
    const double swing = 0.28 * latitude; // negative in the south: the seasons are turned round
    const Date date{std::chrono::floor<std::chrono::days>(start)};
    const double day = day_of_year(date);
    const double mean = yearly_mean + swing * std::cos(2 * kPi * (day - 202) / 365) + 5 -
                        0.0065 * place.elevation_m;
    const double solar_hour = 12 + hour_sun(place, start, kSolarConstant).hour_angle_rad * 12 / kPi;
    SeasonAir air;
    air.temp_c = std::clamp(mean + 6 * std::cos(2 * kPi * (solar_hour - 15) / 24), -60.0, 60.0);
    air.temp_min_c = std::clamp(mean - 6, -60.0, 60.0);
    return air;
}

// The lowest and highest temperature of the last 24 h.
struct Range {
    double lowest_c = 0;
    double highest_c = 0;
    int hours = 0; // that were known
};

Range day_range(std::span<const Reading> recent) {
    Range range;
    const WallTime now = recent.back().start;
    for (auto r = recent.rbegin(); r != recent.rend() && now - r->start < hours{24}; ++r) {
        if (!r->air_temp_c) continue;
        const double t = *r->air_temp_c;
        range.lowest_c = range.hours == 0 ? t : std::min(range.lowest_c, t);
        range.highest_c = range.hours == 0 ? t : std::max(range.highest_c, t);
        ++range.hours;
    }
    return range;
}

// A value at the same hour of the nearest day before, for which it is known.
std::optional<double> from_day_before(std::span<const Reading> recent,
                                      std::optional<double> Reading::*value) {
    const WallTime now = recent.back().start;
    for (auto r = recent.rbegin() + 1; r != recent.rend() && now - r->start <= kFarthestBack; ++r)
        if ((now - r->start) % hours{24} == hours{0} && (*r).*value) return (*r).*value;
    return std::nullopt;
}

// The reading of the same hour yesterday, if there is one. Beside the measured seasons it tells
// humidity and wind better than any formula does (bench `fill`): of use when a sensor has just
// failed.
const Reading* yesterday(std::span<const Reading> recent) {
    const WallTime then = recent.back().start - hours{24};
    for (auto r = recent.rbegin() + 1; r != recent.rend() && r->start >= then; ++r)
        if (r->start == then) return &*r;
    return nullptr;
}

double clear_sky_w_m2(const Place& place, double extraterrestrial_mj) {
    return clear_sky_mj(extraterrestrial_mj, place.elevation_m) * kWattsPerMjHour;
}

// FAO-56 p. 58: dew point at the night's minimum, 2 to 3 degrees below it in dry country. That
// the country is dry is read from a wide daily range; this reading of it has no source.
double dew_point_of_night_c(const Range& range) {
    const double dryness = std::clamp((range.highest_c - range.lowest_c - 12) / 4, 0.0, 1.0);
    return range.lowest_c - 3 * dryness;
}

double humidity_pct(double vapour_kpa, double temp_c) {
    return std::clamp(100 * vapour_kpa / saturation_vapour_kpa(temp_c), 1.0, 100.0);
}

void fill_temperature(const Place& place, std::span<const Reading> recent, Hour& hour) {
    if (const auto& measured = recent.back().air_temp_c) {
        hour.air_temp_c = *measured;
        return;
    }
    hour.temp_origin = Origin::assumed;
    const auto before = from_day_before(recent, &Reading::air_temp_c);
    hour.air_temp_c = before ? *before : season_air(place, hour.start).temp_c;
}

void fill_humidity(const Place& place, std::span<const Reading> recent, const Range& range,
                   Hour& hour) {
    if (const auto& measured = recent.back().rel_humidity_pct) {
        hour.rel_humidity_pct = *measured;
        return;
    }
    if (const auto& dew_point_c = recent.back().dew_point_c) {
        // The same thing told in another way (FAO-56 Eq. 14).
        hour.rel_humidity_pct =
            humidity_pct(vapour_from_dew_point_kpa(*dew_point_c), hour.air_temp_c);
        return;
    }
    // The water in the air changes slowly, and not with the time of the day.
    const Reading* const before_now = yesterday(recent);
    if (before_now != nullptr && before_now->rel_humidity_pct && before_now->air_temp_c) {
        hour.humidity_origin = Origin::estimated;
        const double vapour_kpa =
            *before_now->rel_humidity_pct / 100 * saturation_vapour_kpa(*before_now->air_temp_c);
        hour.rel_humidity_pct = humidity_pct(vapour_kpa, hour.air_temp_c);
        return;
    }
    if (range.hours >= kHoursForRange) {
        hour.humidity_origin = Origin::estimated;
        hour.rel_humidity_pct = humidity_pct(
            vapour_from_night_minimum_kpa(dew_point_of_night_c(range)), hour.air_temp_c);
        return;
    }
    hour.humidity_origin = Origin::assumed;
    if (const auto before = from_day_before(recent, &Reading::rel_humidity_pct)) {
        hour.rel_humidity_pct = *before;
        return;
    }
    double night_c = season_air(place, hour.start).temp_min_c;
    if (range.hours > 0) night_c = std::min(night_c, range.lowest_c);
    hour.rel_humidity_pct = humidity_pct(vapour_from_night_minimum_kpa(night_c), hour.air_temp_c);
}

void fill_wind(std::span<const Reading> recent, Hour& hour) {
    if (const auto& measured = recent.back().wind_2m_m_s) {
        hour.wind_2m_m_s = *measured;
        return;
    }
    hour.wind_origin = Origin::estimated;
    const Reading* const before_now = yesterday(recent);
    hour.wind_2m_m_s = before_now != nullptr && before_now->wind_2m_m_s ? *before_now->wind_2m_m_s
                                                                        : kWindUnknown_m_s;
}

// Kasten and Czeplak 1980: what of a clear sky's radiation comes through this much cloud.
double clear_sky_share(double cloud_fraction) {
    return 1 - 0.75 * std::pow(std::clamp(cloud_fraction, 0.0, 1.0), 3.4);
}

void fill_solar(const Place& place, std::span<const Reading> recent, const Range& range,
                Hour& hour) {
    if (const auto& measured = recent.back().solar_w_m2) {
        hour.solar_w_m2 = *measured;
        return;
    }
    const double above_air_mj = hour_sun(place, hour.start, kSolarConstant).extraterrestrial_mj;
    const double clear = clear_sky_w_m2(place, above_air_mj);
    if (const auto& cloud_fraction = recent.back().cloud_fraction) {
        hour.solar_origin = Origin::estimated;
        hour.solar_w_m2 = clear * clear_sky_share(*cloud_fraction);
        return;
    }
    if (range.hours >= kHoursForRange) {
        hour.solar_origin = Origin::estimated;
        hour.solar_w_m2 = std::min(
            clear, kWattsPerMjHour * solar_from_temperature_mj(above_air_mj, range.lowest_c,
                                                               range.highest_c, kRs));
        return;
    }
    hour.solar_origin = Origin::assumed;
    hour.solar_w_m2 = clear;
}

// Temperature, humidity and wind of an hour as the season or the days before have them.
struct Usual {
    Hour hour;
    bool of_season = false; // for want of a day before
};

Usual usual_hour(const Place& place, WallTime start, std::span<const Hour> past) {
    Usual usual;
    for (auto h = past.rbegin(); h != past.rend() && start - h->start <= kStalePast; ++h) {
        if (h->start >= start || (start - h->start) % hours{24} != hours{0}) continue;
        usual.hour = *h;
        usual.hour.start = start;
        return usual;
    }
    const SeasonAir air = season_air(place, start);
    usual.of_season = true;
    usual.hour.start = start;
    usual.hour.air_temp_c = air.temp_c;
    usual.hour.rel_humidity_pct =
        humidity_pct(vapour_from_night_minimum_kpa(air.temp_min_c), air.temp_c);
    usual.hour.wind_2m_m_s = kWindUnknown_m_s;
    return usual;
}

double vapour_kpa(const Hour& hour) {
    return hour.rel_humidity_pct / 100 * saturation_vapour_kpa(hour.air_temp_c);
}

// By what the last hour before `start` that knew a value was off what was usual for it, and what
// of that is left by `start`.
template <class Value>
double lasting_departure(const Place& place, WallTime start, bool of_season,
                         std::span<const Hour> past, Origin Hour::*origin, double memory_h,
                         Value value) {
    for (std::size_t i = past.size(); i-- > 0;) {
        const Hour& h = past[i];
        const double ago_h =
            std::chrono::duration<double, std::ratio<3600>>(start - h.start).count();
        if (ago_h <= 0) continue;
        if (ago_h > kMemories * memory_h) break;
        if (h.*origin == Origin::assumed) continue;
        const Usual usual = usual_hour(place, h.start, past.first(i));
        // A place that is colder than its season is not colder than it was yesterday.
        if (usual.of_season != of_season) return 0;
        return (value(h) - value(usual.hour)) * std::exp(-ago_h / memory_h);
    }
    return 0;
}

// Weather lasts: what was warmer, drier or windier than usual in the last hour is so in the next
// ones too.
void follow_last_hours(const Place& place, std::span<const Hour> past, bool of_season, Hour& hour) {
    const auto departure = [&](Origin Hour::*origin, double memory_h, auto value) {
        return lasting_departure(place, hour.start, of_season, past, origin, memory_h, value);
    };
    const double air_h = of_season ? kSeasonLasts_h : kDayLasts_h;
    const double wind_h = of_season ? kSeasonWindLasts_h : kDayLasts_h;
    const double usual_kpa = vapour_kpa(hour);
    const double vapour = usual_kpa + departure(&Hour::humidity_origin, air_h, vapour_kpa);
    hour.air_temp_c =
        std::clamp(hour.air_temp_c + departure(&Hour::temp_origin, air_h,
                                               [](const Hour& h) { return h.air_temp_c; }),
                   -60.0, 60.0);
    const double least = std::min(kLeastVapourKpa, usual_kpa);
    hour.rel_humidity_pct = humidity_pct(std::max(vapour, least), hour.air_temp_c);
    hour.wind_2m_m_s =
        std::max(hour.wind_2m_m_s + departure(&Hour::wind_origin, wind_h,
                                              [](const Hour& h) { return h.wind_2m_m_s; }),
                 0.0);
}

} // namespace

Hour complete(const Place& place, std::span<const Reading> recent) {
    CHECK(!recent.empty());
    const Reading& now = recent.back();
    const Range range = day_range(recent);
    Hour hour;
    hour.start = now.start;
    fill_temperature(place, recent, hour);
    fill_humidity(place, recent, range, hour);
    fill_solar(place, recent, range, hour);
    fill_wind(recent, hour);
    hour.rain_mm = now.rain_mm.value_or(0);
    if (!now.rain_mm) hour.rain_origin = Origin::assumed;
    hour.soil_temp_c = now.soil_temp_c;
    return hour;
}

Hour assume(const Place& place, WallTime start, std::span<const Hour> past) {
    const Usual usual = usual_hour(place, start, past);
    Hour hour = usual.hour;
    follow_last_hours(place, past, usual.of_season, hour);
    hour.solar_w_m2 =
        clear_sky_w_m2(place, hour_sun(place, start, kSolarConstant).extraterrestrial_mj);
    hour.rain_mm = 0;
    hour.soil_temp_c.reset();
    hour.rain_probability = 1;
    hour.temp_origin = hour.humidity_origin = hour.wind_origin = Origin::assumed;
    hour.solar_origin = hour.rain_origin = Origin::assumed;
    return hour;
}

} // namespace firstmow::weather
