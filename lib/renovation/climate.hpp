// The usual course of the year at a place: what a calendar made months ahead has to go by.
//
// From a record of past days where there is one (mean of the days within a fortnight, all years);
// otherwise a rule of thumb from latitude and height that is off by several degrees in many places,
// and says so.
#pragma once

#include "renovation/record.hpp"
#include "weather/hour.hpp"

#include <array>
#include <span>

namespace firstmow::renovation {

struct Climate {
    weather::Place place;
    std::array<double, 366> min_c{}; // by day of the year
    std::array<double, 366> max_c{};
    // Rain of a usual day that a bed can use: of each day of the record no more than 8 mm, which is
    // what the bed holds over to the days after (default). Only with a record that has rain.
    std::array<double, 366> usable_rain_mm{};
    bool rain_known = false;
    bool from_record = false;
    // How far a given few weeks may lie from the usual: dates are given with this much either way.
    double spread_c = 3;

    bool southern() const { return place.latitude_deg < 0; }
    double min_on(Date date) const;
    double max_on(Date date) const;
    double usable_rain_on(Date date) const;
    double mean_on(Date date) const { return (min_on(date) + max_on(date)) / 2; }
};

// A record serves when it knows at least 300 days of the year; maxima that it lacks are taken 12 K
// above the minima.
Climate climate_of(const weather::Place& place, std::span<const DailyAir> record);

// Daily mean in the seedbed: the running mean of the air over 11 days (Zheng, Hunt and Running
// 1993), which a moist bed stays near.
double soil_temp_c(const Climate& climate, Date date);

// Reference ET of a usual day, Hargreaves (FAO-56 Eq. 52).
double usual_eto_mm(const Climate& climate, Date date);

// Growing degree-days above 5 deg C from `from` up to `to`.
double growing_degree_days(const Climate& climate, Date from, Date to);

// The first day on or after `from`, within a year, from which the soil is at or below (at or
// above) `temp_c` for a month.
std::optional<Date> soil_stays_below(const Climate& climate, Date from, double temp_c);
std::optional<Date> soil_stays_above(const Climate& climate, Date from, double temp_c);

} // namespace firstmow::renovation
