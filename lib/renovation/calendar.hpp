// The dated things to do and to expect, zone by zone, counted back and forth from the day of
// sowing or laying.
#pragma once

#include "renovation/course.hpp"
#include "renovation/quantities.hpp"
#include "renovation/show.hpp"
#include "renovation/timing.hpp"

#include <string>
#include <vector>

namespace firstmow::renovation {

struct Event {
    Date day;
    int days = 1;      // how many, this one included
    std::string zone;  // id; empty: the whole garden
    std::string key;   // what it is, the same from run to run: "sow", "first_mow"
    std::string title; // a short phrase
    std::string text;  // sentences
};

// Of one zone that is being established, by day.
std::vector<Event> zone_events(const garden::Zone& zone, const garden::Renovation& renovation,
                               const Timing& timing, const Milestones& milestones,
                               const Quantities& quantities, const Show& show);

// Of the garden: frost, draining the pipes. `timing` is that of the first zone.
std::vector<Event> garden_events(const Timing& timing);

// By day, then in the order given.
void sort_events(std::vector<Event>& events);

} // namespace firstmow::renovation
