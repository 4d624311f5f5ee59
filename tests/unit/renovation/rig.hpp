// Small gardens and years for the tests of the renovation room.
#pragma once

#include "renovation/plan.hpp"

#include <cmath>
#include <numbers>
#include <vector>

namespace firstmow::renovation {

inline Date day(int year, unsigned month, unsigned date) {
    return Date{std::chrono::year{year} / static_cast<int>(month) / static_cast<int>(date)};
}

inline garden::Zone zone_of(turf::Method method, Date start) {
    garden::Zone zone;
    zone.id = "front";
    zone.name = "Front lawn";
    zone.area_m2 = 100;
    zone.soil = soil::TextureClass::loam;
    zone.precipitation_rate_mm_per_h = 12;
    zone.distribution_uniformity = 0.65;
    zone.establishment.method = method;
    zone.establishment.start = start;
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 0.6},
                              {turf::Species::perennial_ryegrass, 0.4}};
    return zone;
}

// A place at 42 degrees north with frost on 7 October.
inline garden::Garden garden_of(std::vector<garden::Zone> zones) {
    garden::Garden garden;
    garden.site.name = "Test garden";
    garden.site.place = {42, -93, 290};
    garden.site.timezone = "UTC";
    garden.site.first_frost = std::chrono::October / 7;
    garden.supply.flow_l_per_min = 35;
    garden.supply.hours = {{6 * 3600, 19 * 3600}};
    garden.zones = std::move(zones);
    return garden;
}

// Years of days: a cosine with its coldest night in mid-January, shifted by a few days from year to
// year so that first freezes differ.
inline std::vector<DailyAir> record_of(int first_year, int years) {
    std::vector<DailyAir> record;
    const Date end = day(first_year + years, 1, 1);
    for (Date date = day(first_year, 1, 1); date < end; date = add_days(date, 1)) {
        const int shift = (static_cast<int>(date.year()) * 7) % 13 - 6;
        const double phase = 2 * std::numbers::pi * (day_of_year(date) - 15 - shift) / 365;
        const double min_c = 4 - 14 * std::cos(phase);
        record.push_back({date, min_c, min_c + 11});
    }
    return record;
}

} // namespace firstmow::renovation
