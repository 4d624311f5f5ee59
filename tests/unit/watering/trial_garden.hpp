// An invented garden and invented weather for the tests of watering, engine and sim.
//
// The place lies at 41 N, 90 W; its local time is UTC - 6 h all year. The weather is clear unless
// asked otherwise: a daily wave of temperature over a constant dew point.
#pragma once

#include "base/timezone.hpp"
#include "garden/garden.hpp"
#include "watering/demand.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

namespace firstmow::trial {

inline constexpr Seconds kHour{3600};
inline constexpr Date kSown{std::chrono::year{2026}, std::chrono::August, std::chrono::day{10}};

inline TimeZone local_zone() {
    return TimeZone("Etc/GMT+6", {{WallTime{}, Seconds{-6 * 3600}, "-06"}});
}

// The instant at which the garden's clock shows `hour`:`minute`, `day` days after the sowing.
inline WallTime local(int day, int hour, int minute = 0) {
    return local_zone().to_wall(add_days(kSown, day), hour * 3600 + minute * 60);
}

inline weather::Place place() {
    return {41.0, -90.0, 210.0};
}

// A new seedbed of one quick and one slow grass.
inline garden::Zone seed_zone(std::string id,
                              soil::TextureClass texture = soil::TextureClass::loam) {
    garden::Zone zone;
    zone.id = id;
    zone.name = "Lawn " + id;
    zone.area_m2 = 100;
    zone.soil = texture;
    zone.slope_pct = 2;
    zone.precipitation_rate_mm_per_h = 12; // 20 L/min
    zone.distribution_uniformity = 0.65;
    zone.valve.driver = "simulated";
    zone.valve.channel = static_cast<int>(id.back());
    zone.establishment.method = turf::Method::seed;
    zone.establishment.start = kSown;
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 0.6},
                              {turf::Species::perennial_ryegrass, 0.4}};
    return zone;
}

inline garden::Zone grown_zone(std::string id) {
    garden::Zone zone = seed_zone(std::move(id));
    zone.establishment = {};
    return zone;
}

inline garden::Garden garden_of(std::vector<garden::Zone> zones, double flow_l_per_min = 25) {
    garden::Garden garden;
    garden.site.name = "Trial garden";
    garden.site.place = place();
    garden.site.timezone = "Etc/GMT+6";
    garden.supply.flow_l_per_min = flow_l_per_min;
    garden.supply.hours = {{6 * 3600, 19 * 3600}};
    garden.zones = std::move(zones);
    return garden;
}

struct Air {
    double mean_c = 24;
    double swing_c = 7; // half of the daily range
    double dew_point_c = 12;
    double wind_m_s = 2;
};

inline weather::Hour clear_hour(WallTime start, const Air& air = {}) {
    const double local_hour =
        static_cast<double>(local_zone().to_local(start).second_of_day) / 3600.0;
    weather::Hour hour;
    hour.start = start;
    hour.air_temp_c =
        air.mean_c + air.swing_c * std::cos(2 * std::numbers::pi * (local_hour - 15) / 24);
    hour.rel_humidity_pct =
        std::min(100.0, 100.0 * weather::saturation_vapour_kpa(air.dew_point_c) /
                            weather::saturation_vapour_kpa(hour.air_temp_c));
    hour.wind_2m_m_s = air.wind_m_s;
    // Three quarters of what arrives above the air: a clear day.
    hour.solar_w_m2 = 0.75 * weather::hour_sun(place(), start, 0.0820).extraterrestrial_mj / 0.0036;
    return hour;
}

inline std::vector<weather::Hour> clear_hours(WallTime from, int count, const Air& air = {}) {
    std::vector<weather::Hour> hours;
    for (int i = 0; i < count; ++i)
        hours.push_back(clear_hour(from + i * kHour, air));
    return hours;
}

inline const Air kHot{28, 8, 10, 3};
inline const Air kMild{16, 5, 9, 1.5};

inline std::vector<watering::HourDemand> demands(const std::vector<weather::Hour>& hours) {
    weather::CloudMemory clouds;
    std::vector<watering::HourDemand> demands;
    for (const weather::Hour& hour : hours)
        demands.push_back(watering::hour_demand(place(), hour, clouds));
    return demands;
}

} // namespace firstmow::trial
