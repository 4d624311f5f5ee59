// How a lawn would come along from a day of sowing or laying, in usual weather: the grass model of
// the turf room, run over the usual course of the year in soil kept damp.
#pragma once

#include "garden/garden.hpp"
#include "renovation/climate.hpp"

#include <optional>

namespace firstmow::renovation {

struct Course {
    std::optional<Date> first_green; // the first seedlings of the fastest species show
    std::optional<Date> all_up;      // the slowest important species is up
    std::optional<Date> rooted;      // sod resists a tug
    // Due when all are up and the quickest grass of the mix has its height, for it is the tallest
    // that is mown (K-State: at 3-4 in; Cornell: 60 % of the grass at 2-3 in); sod: when rooted.
    std::optional<Date> first_mow;
    std::optional<Date> grown_in; // waters like an ordinary lawn
    // Evaporation and transpiration up to the first mow (or the end of looking), without the days
    // on which the soil is too cold for grass to grow.
    double net_mm = 0;
    double rain_mm = 0; // of that, what usual rain brings; 0 when it is not known
};

// `warmer_c` shifts every day: the spread of the years. Milestones more than 330 days away are not
// given.
Course course(const garden::Establishment& establishment, const Climate& climate,
              double warmer_c = 0);

// A date with the range that warm and cool years, and quick and slow seed, put around it.
struct Milestone {
    std::optional<Date> usual;
    std::optional<Date> early;
    std::optional<Date> late; // none: perhaps not before winter, or not within a year
};
struct Milestones {
    Milestone first_green;
    Milestone all_up;
    Milestone rooted;
    Milestone first_mow;
    Milestone grown_in;
    double net_mm = 0;
    double rain_mm = 0;
    bool live = false; // from the running season rather than from the usual course of the year
};
// `usual` of a usual year. `early` and `late`: the 10th and 90th percentile of weather and seed lot
// (turf/prospect.hpp).
Milestones milestones(const garden::Establishment& establishment, const Climate& climate);

} // namespace firstmow::renovation
