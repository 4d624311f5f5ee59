// The whole plan of a garden's renovation: advice, timing, dates, quantities, and whether the tap
// can do it. Pure: from the garden file and a record of past days, no clock.
#pragma once

#include "base/timezone.hpp"
#include "renovation/advice.hpp"
#include "renovation/calendar.hpp"
#include "renovation/feasibility.hpp"
#include "turf/prospect.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::renovation {

struct ZonePlan {
    const garden::Zone* zone = nullptr; // of the garden that was planned
    Timing timing;
    Milestones milestones;
    Quantities quantities;
    std::optional<Advice> advice;
    std::vector<Event> events;
};

struct Plan {
    const garden::Garden* garden = nullptr;
    Climate climate;
    std::vector<ZonePlan> zones; // those that are being established
    std::vector<Event> events;   // of the garden and all zones, by day
    std::optional<Feasibility> feasibility;
    std::vector<std::string> cautions;
    WallTime stamp; // of the calendar: midnight UTC of the first start; there is no clock here
};

// What the running season knows of a zone's dates; they take the place of the usual ones.
struct LiveDates {
    std::string zone; // id
    Milestone first_green;
    Milestone all_up;
    Milestone rooted;
    Milestone first_mow;
    Milestone grown_in;
};
// Dates with their range as local days.
Milestone milestone_of(const turf::When& when, const TimeZone& local);

// The dates alone, without asking whether the tap can do it (which takes a second of work).
// `live`: any zones that are under way.
Plan plan_dates(const garden::Garden& garden, std::span<const DailyAir> record,
                std::span<const LiveDates> live = {});
// All of it. `garden` outlives the plan.
Plan plan(const garden::Garden& garden, const TimeZone& local, std::span<const DailyAir> record);

// The calendar file. `made`: when it was made from a running season; readers are then asked to look
// again after six hours.
std::string ical(const Plan& plan, std::optional<WallTime> made = std::nullopt);
// For reading in a terminal, lines of at most 100 columns.
std::string report(const Plan& plan);

} // namespace firstmow::renovation
