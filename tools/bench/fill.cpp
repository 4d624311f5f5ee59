// How well missing values are estimated: methods beside what was measured, and what their errors
// do to reference ET. The season's own values are taken away one kind at a time and made again from
// the rest, hour by hour, from what had passed by then only.
#include "bench.hpp"

#include "season_files.hpp"
#include "weather/fill.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <map>
#include <numbers>
#include <span>

namespace firstmow::bench {
namespace {

using weather::Hour;
using weather::Origin;
using weather::Reading;

constexpr double kSolarConstant = 0.0820;
constexpr double kWatts = 1 / 0.0036;
constexpr std::size_t kDay = 24;

struct Range {
    double low = 0;
    double high = 0;
};
// Of the last 24 hours, the last included.
Range range_of(std::span<const Hour> past) {
    Range range{past.back().air_temp_c, past.back().air_temp_c};
    for (const Hour& h : past.last(std::min(past.size(), kDay))) {
        range.low = std::min(range.low, h.air_temp_c);
        range.high = std::max(range.high, h.air_temp_c);
    }
    return range;
}

double clear(const weather::Place& place, WallTime start) {
    return kWatts * weather::clear_sky_mj(
                        weather::hour_sun(place, start, kSolarConstant).extraterrestrial_mj,
                        place.elevation_m);
}
double above_air(const weather::Place& place, WallTime start) {
    return kWatts * weather::hour_sun(place, start, kSolarConstant).extraterrestrial_mj;
}

// Makes the last hour's value of the hours up to it; those of before are as measured.
using Method = std::function<double(const weather::Place&, std::span<const Hour>)>;
struct Named {
    const char* name;
    Method make;
};

const Hour& day_before(std::span<const Hour> past) {
    return past[past.size() > kDay ? past.size() - 1 - kDay : 0];
}

double humidity_of(double dew_point_c, double temp_c) {
    return std::clamp(100 * weather::saturation_vapour_kpa(dew_point_c) /
                          weather::saturation_vapour_kpa(temp_c),
                      1.0, 100.0);
}

// As the program does it: everything but the temperature taken away.
Hour as_filled(const weather::Place& place, std::span<const Hour> past) {
    std::vector<Reading> readings;
    for (const Hour& h : past.last(std::min<std::size_t>(past.size(), 72))) {
        Reading r;
        r.start = h.start;
        r.air_temp_c = h.air_temp_c;
        readings.push_back(r);
    }
    return weather::complete(place, readings);
}

std::vector<Named> solar_methods() {
    const auto hargreaves = [](double k_rs) {
        return [k_rs](const weather::Place& place, std::span<const Hour> past) {
            const Range r = range_of(past);
            return std::min(clear(place, past.back().start),
                            k_rs * std::sqrt(r.high - r.low) * above_air(place, past.back().start));
        };
    };
    // Bristow and Campbell 1984, with their usual A 0.7 and C 2.4 and a B of 0.006.
    const auto bristow = [](const weather::Place& place, std::span<const Hour> past) {
        const Range r = range_of(past);
        return 0.75 * (1 - std::exp(-0.006 * std::pow(r.high - r.low, 2.4))) *
               above_air(place, past.back().start);
    };
    return {{"as the program does",
             [](const weather::Place& place, std::span<const Hour> past) {
                 return as_filled(place, past).solar_w_m2;
             }},
            {"Hargreaves-Samani, kRs 0.16", hargreaves(0.16)},
            {"Hargreaves-Samani, kRs 0.175", hargreaves(0.175)},
            {"Hargreaves-Samani, kRs 0.19", hargreaves(0.19)},
            {"Bristow-Campbell", bristow},
            {"the day before",
             [](const weather::Place& place, std::span<const Hour> past) {
                 return std::min(day_before(past).solar_w_m2, clear(place, past.back().start));
             }},
            {"clear sky", [](const weather::Place& place, std::span<const Hour> past) {
                 return clear(place, past.back().start);
             }}};
}

std::vector<Named> humidity_methods() {
    const auto dew = [](double below_c) {
        return [below_c](const weather::Place&, std::span<const Hour> past) {
            return humidity_of(range_of(past).low - below_c, past.back().air_temp_c);
        };
    };
    return {{"as the program does",
             [](const weather::Place& place, std::span<const Hour> past) {
                 return as_filled(place, past).rel_humidity_pct;
             }},
            {"dew point at the minimum", dew(0)},
            {"dew point 2 below the minimum", dew(2)},
            {"dew point 3 below the minimum", dew(3)},
            {"the day before's vapour",
             [](const weather::Place&, std::span<const Hour> past) {
                 const Hour& before = day_before(past);
                 const double vapour = before.rel_humidity_pct / 100 *
                                       weather::saturation_vapour_kpa(before.air_temp_c);
                 return std::clamp(100 * vapour /
                                       weather::saturation_vapour_kpa(past.back().air_temp_c),
                                   1.0, 100.0);
             }},
            {"60 % always", [](const weather::Place&, std::span<const Hour>) { return 60.0; }}};
}

std::vector<Named> wind_methods() {
    const auto constant = [](double wind) {
        return [wind](const weather::Place&, std::span<const Hour>) { return wind; };
    };
    // Calm by night, twice the mean in the afternoon: a shape without source.
    const auto by_day = [](const weather::Place& place, std::span<const Hour> past) {
        const double angle =
            weather::hour_sun(place, past.back().start, kSolarConstant).hour_angle_rad;
        return 2 * (1 + 0.4 * std::cos(angle - std::numbers::pi / 6));
    };
    return {{"as the program does",
             [](const weather::Place& place, std::span<const Hour> past) {
                 return as_filled(place, past).wind_2m_m_s;
             }},
            {"1 m/s", constant(1)},
            {"1.5 m/s", constant(1.5)},
            {"2 m/s (FAO-56)", constant(2)},
            {"2 m/s, by the hour of the day", by_day},
            {"the day before", [](const weather::Place&, std::span<const Hour> past) {
                 return day_before(past).wind_2m_m_s;
             }}};
}

struct Errors {
    double value = 0; // sums of absolute differences, hour by hour
    double value_bias = 0;
    double daily_et = 0; // of days
    double et_bias = 0;
    double et = 0; // measured
    int hours = 0;
    int days = 0;
};

Errors errors_of(const MeasuredSeason& season, const Method& method, double Hour::*value) {
    Errors e;
    weather::CloudMemory clouds;
    weather::CloudMemory clouds_made;
    double day = 0;
    double day_made = 0;
    for (std::size_t i = 0; i < season.hours.size(); ++i) {
        const Hour& hour = season.hours[i];
        Hour made = hour;
        if (i >= kDay) made.*value = method(season.place, std::span(season.hours).first(i + 1));
        const double et = hour_et_mm(season.place, hour, clouds);
        const double et_made = hour_et_mm(season.place, made, clouds_made);
        if (i < kDay) continue;
        e.value += std::abs(made.*value - hour.*value);
        e.value_bias += made.*value - hour.*value;
        e.et += et;
        e.et_bias += et_made - et;
        ++e.hours;
        day += et;
        day_made += et_made;
        if ((i + 1) % kDay == 0) {
            e.daily_et += std::abs(day_made - day);
            ++e.days;
            day = day_made = 0;
        }
    }
    return e;
}

void table(const std::vector<MeasuredSeason>& seasons, const char* what, const char* unit,
           const std::vector<Named>& methods, double Hour::*value, Origin Hour::*origin) {
    std::printf("\n%s missing: mean error by the hour in %s (its bias), of reference ET by the day "
                "in mm (its bias in %%)\n",
                what, unit);
    for (const Named& method : methods) {
        std::printf("  %s\n", method.name);
        double daily = 0;
        double worst = 0;
        int count = 0;
        for (const MeasuredSeason& season : seasons) {
            const auto measured =
                std::count_if(season.hours.begin(), season.hours.end(),
                              [&](const Hour& h) { return h.*origin == Origin::measured; });
            if (static_cast<std::size_t>(measured) < season.hours.size() * 9 / 10) continue;
            const Errors e = errors_of(season, method.make, value);
            const double et = e.daily_et / e.days;
            std::printf("    %-22s %8.2f (%+7.2f) %8.2f (%+5.1f %%)\n", season.name.c_str(),
                        e.value / e.hours, e.value_bias / e.hours, et, 100 * e.et_bias / e.et);
            daily += et;
            worst = std::max(worst, et);
            ++count;
        }
        if (count > 0)
            std::printf("    %-22s %18s %8.2f (worst %.2f)\n", "all", "", daily / count, worst);
    }
}

} // namespace

bool fill(const Options& options) {
    if (!options.folder) {
        std::printf("fill: needs --folder of measured seasons\n");
        return true;
    }
    const auto seasons = read_seasons(*options.folder);
    if (!seasons) return false;
    table(*seasons, "Radiation", "W/m2", solar_methods(), &Hour::solar_w_m2, &Hour::solar_origin);
    table(*seasons, "Humidity", "%", humidity_methods(), &Hour::rel_humidity_pct,
          &Hour::humidity_origin);
    table(*seasons, "Wind", "m/s", wind_methods(), &Hour::wind_2m_m_s, &Hour::wind_origin);
    return true;
}

} // namespace firstmow::bench
