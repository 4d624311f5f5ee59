// How long a run of one zone should be. Inside of the room.
//
// In the damp phases, while it can be watered again the same day: as long as comes cheapest. A day
// of such runs is tried with runs of six lengths (shares of the one that fills the wetted depth and
// a millimetre): what water goes into it, a price on each start, what is left in the bed. So where
// a wet surface loses much (sand, straw that each run fills first) runs are long and few, where
// much would drain (loam in humid weather) short. Rain is no part of that choice; a run is then cut
// to what lasts as long with the rain that is counted on, so that a shower never makes one longer.
// The last run of a day: the shortest with which the bed lasts until the tap may run again, but no
// more than fills the wetted depth and a millimetre; where the tap is closed by day for longer it
// wets deeper, as far as that helps.
#pragma once

#include "watering/planner.hpp"

namespace firstmow::watering {

struct Size {
    int total_s = 0; // what the bed wants
    int first_s = 0; // what it can take in one go
};

class Sizer {
public:
    // All of these outlive it; `open` may be changed under it.
    Sizer(const PlanContext& context, const ZoneTask& task, const DryTest& test,
          const std::vector<Span>& open);

    // The zone as it will be at `start`, without water until then.
    Outlook at(WallTime start) const;
    Size damp(WallTime start) const;
    // Refills the bed to the depth that the phase asks for.
    Size deep(WallTime start) const;
    // What fills the bed at `start` to that depth; 0 when it is full.
    int filling_s(WallTime start) const;
    Size split(const Outlook& before, int total_s) const;

private:
    int seconds_for(double net_mm, WallTime start) const;
    // When it would be dry after such a run if no rain fell; `until` when not before.
    WallTime rainless_dry(const Outlook& before, int run_s, WallTime until) const;
    // Of runs of different lengths the one with which a day of such runs costs least. One that lies
    // hours ahead is sized again before it comes, and gets a usual length meanwhile.
    int thriftiest_s(const Outlook& before, int shortest, int most) const;
    // What a day costs (mm on what is judged) in which each run, from `o` on, is that share of the
    // one that fills the bed: water, starts, dry hours, less what is left in the bed.
    double cost_mm(Outlook o, double share, int shortest) const;
    bool lasts(const Outlook& before, int run_s, WallTime until) const;
    // When it is dry after such a run; `until` when not before.
    WallTime dry_after(const Outlook& before, int run_s, WallTime until) const;
    // Longer runs last longer: bisects for the shortest that lasts, `most` when none does.
    int shortest_lasting(const Outlook& before, int shortest, int most, WallTime until) const;
    // What to add to a run of `most` so that the bed is damp for longer by day: the shortest
    // addition with which it lasts as long as with water to the full depth, within a quarter of an
    // hour.
    int deeper_s(const Outlook& before, WallTime start, int most, WallTime until) const;

    const PlanContext& context_;
    const ZoneTask& task_;
    const DryTest& test_;
    const std::vector<Span>& open_;
    Outlook now_;
};

// The span that holds `t`.
const Span* span_at(const std::vector<Span>& open, WallTime t);
// The hour that holds `t`, or the nearest.
const HourDemand& hour_of(Hours hours, WallTime t);

} // namespace firstmow::watering
