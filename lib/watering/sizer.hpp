// How long a run of one zone should be. Inside of the room.
//
// In the damp phases, while it can be watered again the same day: as long as makes the day come
// cheapest (day_search.hpp). Where a wet surface loses much (sand, straw that each run fills first)
// runs are long and few, where much would drain (loam in humid weather) short. Rain is no part of
// that choice; it can only make the run shorter: to what comes cheapest with the rain that is
// counted on, and to what lasts as long with it as the longer one without. So of two runs that
// begin together the one with rain is no longer than the one without any. A run that would be the
// last of a day: the shortest with which the bed lasts until the tap may run again, but no more
// than fills the wetted depth and a millimetre; or a short one now and another late in the day,
// where that comes cheaper. Where the bed would still be dry by day, as where the tap is closed
// then, it gives more, as far as that helps.
#pragma once

#include "watering/planner.hpp"

namespace firstmow::watering {

struct Size {
    int total_s = 0; // what the bed wants
    int first_s = 0; // what it can take in one go
    double left_to_rain_mm = 0;
};

// What a start costs, in mm on what is judged: pipes that fill and drain, valves that wear
// (default).
inline constexpr double kStartMm = 0.2;

// Of runs by day: found by a search, or what is usual, where another is given in its place.
enum class Lengths { searched, usual };

class Sizer {
public:
    // All but `lengths` outlive it; `open` may be changed under it.
    Sizer(const PlanContext& context, const ZoneTask& task, const DryTest& test,
          const std::vector<Span>& open, Lengths lengths = Lengths::searched);

    // The zone as it will be at `start`, without water until then.
    Outlook at(WallTime start) const;
    Size damp(WallTime start) const;
    // The run at the end of a day.
    Size last(WallTime start) const;
    // Refills the bed to the depth that the phase asks for; of a grown-in lawn's book less what is
    // better left to rain (rain_room.hpp).
    Size deep(WallTime start) const;
    // What does so at `start`; 0 when it is full.
    int filling_s(WallTime start) const;
    // The bed at `closing`, if it is watered until then so that it is just not dry.
    Outlook just_damp_at(WallTime closing) const;
    // The run at the end of the day with which such a bed lasts until the tap may run again; 0 when
    // it lasts without. For seedbeds.
    int overnight_s(const Outlook& bed) const;
    // How long the run at the end of the day that holds `start` has to last.
    WallTime night_until(WallTime start) const;
    // The longest run that is of use in that bed: it fills the wetted depth and a millimetre.
    int full_s(const Outlook& bed) const;
    // The same for the bed as it is when it is dry next, or at `closing`.
    int full_when_dry_s(WallTime closing) const;
    // How long it would be watered from now to `closing`, were the tap its own.
    int day_s(WallTime closing) const;
    Size split(const Outlook& before, int total_s) const;
    // What an open valve gives what is judged then.
    double mm_per_s(WallTime at) const;

private:
    int seconds_for(double net_mm, WallTime start) const;
    // What fills the bed, on what is judged, with `room_mm` of its book left to rain.
    double filling_mm(const Outlook& then, double room_mm) const;
    double room_mm(const Outlook& then) const;
    int last_s(const Outlook& before) const;
    // When it would be dry after such a run if no rain fell; `until` when not before.
    WallTime rainless_dry(const Outlook& before, int run_s, WallTime until) const;
    bool lasts(const Outlook& before, int run_s, WallTime until) const;
    // When it is dry after such a run; `until` when not before.
    WallTime dry_after(const Outlook& before, int run_s, WallTime until) const;
    // Longer runs last longer: bisects for the shortest that lasts, `most` when none does.
    int shortest_lasting(const Outlook& before, int shortest, int most, WallTime until) const;
    // What to add to a run of `most` so that the bed is damp for longer by day: the shortest
    // addition with which it lasts as long as with water to the full depth, within a quarter of an
    // hour.
    int deeper_s(Outlook before, WallTime start, int most, WallTime until) const;

    struct Thrifty {
        int rainless_s = 0; // without any rain
        int run_s = 0;      // with the rain that is counted on: no longer
    };
    // The cheapest now. One that lies more than an hour ahead gets a usual length, for it is sized
    // again before it comes.
    Thrifty thriftiest(const Outlook& before) const;
    bool searches(const Outlook& before) const;
    // Whether rain is counted on until the tap opens next.
    bool rain_within(const Outlook& bed) const;
    // Whether a thrifty run and another at the end of the day would come cheaper without rain than
    // one now that lasts the night. Not asked with it, or a shower could turn two into a long one.
    bool better_in_two(const Outlook& before, int thrifty_s) const;

    const PlanContext& context_;
    const ZoneTask& task_;
    const DryTest& test_;
    const std::vector<Span>& open_;
    Lengths lengths_;
    Outlook now_;
};

// No rain is so likely: with it as Outlook::rain_from none is counted on.
inline constexpr double kNoRain = 2;
inline constexpr int kRunUnitS = 60;
// A bed's day is looked at for no longer than this.
inline constexpr Seconds kLongestDay{24 * 3600};
// Rounded up.
int whole_minutes_s(double seconds);
// When the tap may run again after the span that holds `t`.
std::optional<WallTime> next_opening(const std::vector<Span>& open, WallTime t);
// The span that holds `t`.
const Span* span_at(const std::vector<Span>& open, WallTime t);
// The hour that holds `t`, or the nearest.
const HourDemand& hour_of(Hours hours, WallTime t);

} // namespace firstmow::watering
