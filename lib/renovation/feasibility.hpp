// Before sowing: can this tap keep all these beds damp on the hottest day, in the hours allowed?
//
// A week of design days (clear, dry, wind 2 m/s, no rain, all seed at its most thirsty) goes over
// the column of the soil room while a simple waterman serves the zones: whoever is driest first, as
// many together as the tap bears, only in the hours and days allowed. Not the planner itself, which
// looks ahead and does somewhat better; where even this manages, the planner will.
#pragma once

#include "base/timezone.hpp"
#include "garden/garden.hpp"
#include "renovation/climate.hpp"

#include <string>
#include <vector>

namespace firstmow::renovation {

struct ZoneStrain {
    std::string zone; // id
    double runs_per_day = 0;
    double minutes_per_day = 0;
    double litres_per_day = 0;
    double gross_mm_per_day = 0;
    double dry_minutes_per_day = 0; // driest quarter beyond what the bed should bear
    double driest_kpa = 0;          // of the driest quarter's seed zone
};

struct Trial {
    std::vector<ZoneStrain> zones;
    double worst_dry_minutes() const;
    bool holds() const; // no zone is dry for more than half an hour a day
};

struct Remedy {
    std::string what; // "straw on the seed", a noun phrase
    Trial trial;
};

struct Feasibility {
    double design_heat_c = 0;
    double eto_mm_per_day = 0; // short reference
    double eto_peak_mm_per_h = 0;
    Date day;
    double open_minutes_per_day = 0; // hours allowed, mean of the week
    double tap_use = 0;              // litres wanted over what the tap gives in those hours, 0..1
    Trial as_is;
    std::vector<Remedy> remedies; // tried only when `as_is` does not hold
};

// Zones that are being established only. Nothing when there are none.
std::optional<Feasibility> feasibility(const garden::Garden& garden, const TimeZone& local,
                                       const Climate& climate);

} // namespace firstmow::renovation
