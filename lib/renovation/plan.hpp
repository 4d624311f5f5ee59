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
    // A mow that a person has told of: its day, and a sentence on its hour and the water.
    std::optional<Date> mow;
    std::string mow_words;
};
// Dates with their range as local days.
Milestone milestone_of(const turf::When& when, const TimeZone& local);

// What the first frost is counted from.
enum class FrostFrom : std::uint8_t {
    record,       // the record where it has years enough, else the typical date
    typical_date, // site.first_frost, whatever the record says
};

// The dates alone, without asking whether the tap can do it (which takes a second of work).
// `live`: any zones that are under way.
Plan plan_dates(const garden::Garden& garden, std::span<const DailyAir> record,
                std::span<const LiveDates> live = {}, FrostFrom frost = FrostFrom::record);
// All of it. `garden` outlives the plan.
Plan plan(const garden::Garden& garden, const TimeZone& local, std::span<const DailyAir> record,
          std::span<const LiveDates> live = {}, FrostFrom frost = FrostFrom::record);

// The calendar file. `made`: when it was made from a running season; readers are then asked to look
// again after six hours.
std::string ical(const Plan& plan, std::optional<WallTime> made = std::nullopt);
// For reading in a terminal, lines of at most 100 columns.
std::string report(const Plan& plan);
// Its parts, as sentences in the units of the site.
std::vector<std::string> frost_words(const Plan& plan);
std::vector<std::string> shopping_words(const Plan& plan, const ZonePlan& zone);
std::string way_words(const Plan& plan, const Way& way);
struct TapWords {
    std::string demand;             // what the day asks for and the tap gives
    std::vector<std::string> zones; // how each fares
    std::string verdict;
    std::vector<std::string> remedies; // none where it holds
};
std::optional<TapWords> tap_words(const Plan& plan);

} // namespace firstmow::renovation
