#include "watering/sizer.hpp"

#include "watering/day_search.hpp"
#include "watering/rain_room.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace firstmow::watering {

namespace {

// The last run of a day is to last at least this long, where the bed can hold it.
constexpr Seconds kSpacing{9000};
// Less than this before the end of a day a run is its last.
constexpr Seconds kWorthTwo{1800};
// After the night's last run the bed shall stay damp until a little after the tap may run again.
constexpr Seconds kMorningSlack{1200};
// Water beyond field capacity that a run may leave in the bed on its way down; and the last of a
// day, where the bed then lasts longer by day.
constexpr double kExcessMm = 1.0;
constexpr double kMostExcessMm = 2.0;
// Where the tap is closed for long the bed may be wetted this many times as deep, if it then stays
// damp for longer by at least so much.
constexpr double kFeedingDepths = 2.5;
constexpr Seconds kWorthDeeper{1800};
constexpr Seconds kWithin{900};
// A grown-in lawn's run leaves no more room for rain than this part of what may be used: rain may
// not come, and roots want water deep and rare.
constexpr double kMostRoom = 0.5;

// A run that begins within so long is sized by a search.
constexpr Seconds kNear{3600};
constexpr double kUsualShare = 0.5;

} // namespace

std::optional<WallTime> next_opening(const std::vector<Span>& open, WallTime t) {
    for (const Span& span : open)
        if (span.from > t) return span.from;
    return std::nullopt;
}

const Span* span_at(const std::vector<Span>& open, WallTime t) {
    for (const Span& span : open)
        if (span.from <= t && t < span.to) return &span;
    return nullptr;
}

int whole_minutes_s(double seconds) {
    return static_cast<int>(std::ceil(seconds / kRunUnitS - 1e-9)) * kRunUnitS;
}

const HourDemand& hour_of(Hours hours, WallTime t) {
    const auto index = (t - hours.front().start).count() / 3600;
    return hours[static_cast<std::size_t>(
        std::clamp<std::int64_t>(index, 0, static_cast<std::int64_t>(hours.size()) - 1))];
}

Sizer::Sizer(const PlanContext& context, const ZoneTask& task, const DryTest& test,
             const std::vector<Span>& open, Lengths lengths)
    : context_(context),
      task_(task),
      test_(test),
      open_(open),
      lengths_(lengths),
      now_(look(*task.spec, task.state, test, context.now)) {}

Outlook Sizer::at(WallTime start) const {
    Outlook o = now_;
    pass(o, context_.hours, start, false);
    return o;
}

Size Sizer::damp(WallTime start) const {
    const Span* span = span_at(open_, start);
    if (span == nullptr) return last(start);
    const WallTime last_start = span->to - Seconds{task_.zone->shortest_run_s};
    if (start + kWorthTwo >= last_start) return last(start);
    // By day, while it can be watered again: as expected, without caution, for what dries
    // sooner is watered sooner.
    Outlook expected = now_;
    expected.caution = 0;
    pass(expected, context_.hours, start, false);
    const Thrifty thrifty = thriftiest(expected);
    const WallTime until = rainless_dry(expected, thrifty.run_s, last_start);
    if (until < last_start)
        return split(expected,
                     shortest_lasting(expected, task_.zone->shortest_run_s, thrifty.run_s, until));
    const Size now = last(start);
    if (better_in_two(expected, thrifty.rainless_s))
        return split(expected, std::min(thrifty.run_s, now.total_s));
    return now;
}

Sizer::Thrifty Sizer::thriftiest(const Outlook& before) const {
    if (!searches(before)) {
        const int usual_s =
            std::max(whole_minutes_s(kUsualShare * full_s(before)), task_.zone->shortest_run_s);
        return {usual_s, usual_s};
    }
    const auto searched_s = [&](bool rain, int most_s) {
        return DaySearch(context_, task_, test_, open_, *this, before, rain)
            .first_up_to(most_s)
            .first_s;
    };
    const int rainless_s = searched_s(false, std::numeric_limits<int>::max());
    return {rainless_s, rain_within(before) ? searched_s(true, rainless_s) : rainless_s};
}

bool Sizer::searches(const Outlook& before) const {
    return lengths_ == Lengths::searched && before.at - context_.now <= kNear;
}

bool Sizer::rain_within(const Outlook& bed) const {
    const WallTime end =
        std::min(bed.at + kLongestDay, next_opening(open_, bed.at).value_or(bed.at + kLongestDay));
    return std::any_of(context_.hours.begin(), context_.hours.end(), [&](const HourDemand& hour) {
        return hour.start < end && hour.start + Seconds{3600} > bed.at &&
               counted_rain_mm_per_h(hour, bed.rain_from) > 0;
    });
}

bool Sizer::better_in_two(const Outlook& before, int thrifty_s) const {
    if (!searches(before)) return false;
    Outlook rainless = at(before.at);
    rainless.rain_from = kNoRain;
    const int one_s = last_s(rainless);
    if (one_s <= thrifty_s) return false;
    const auto cost_mm = [&](int first_s) {
        return DaySearch(context_, task_, test_, open_, *this, before, false)
            .with_first(first_s)
            .cost_mm;
    };
    return cost_mm(thrifty_s) < cost_mm(one_s);
}

Size Sizer::last(WallTime start) const {
    const Outlook before = at(start);
    return split(before, last_s(before));
}

int Sizer::last_s(const Outlook& before) const {
    const WallTime start = before.at;
    const int most = full_s(before);
    const WallTime until = night_until(start);
    const int run_s = shortest_lasting(before, task_.zone->shortest_run_s, most, until);
    // Where the tap is closed for long and no such run lasts, what lies deeper helps: it feeds
    // the seed zone from below. Only as far as it does.
    if (until - start > kSpacing + kMorningSlack && run_s >= most)
        return run_s + deeper_s(before, start, most, until);
    return run_s;
}

int Sizer::full_when_dry_s(WallTime closing) const {
    Outlook bed = now_;
    first_dry(bed, context_.hours, closing, test_);
    return full_s(bed);
}

Outlook Sizer::just_damp_at(WallTime closing) const {
    Outlook bed = now_;
    if (task_.open_until) pass(bed, context_.hours, *task_.open_until, true);
    Outlook dry = bed;
    const auto dry_at = first_dry(dry, context_.hours, closing, test_);
    if (!dry_at) return dry;
    pass(bed, context_.hours, *dry_at, false);
    bed.at = closing;
    return bed;
}

int Sizer::overnight_s(const Outlook& bed) const {
    return lasts(bed, 0, night_until(bed.at)) ? 0 : last_s(bed);
}

int Sizer::day_s(WallTime closing) const {
    Outlook bed = now_;
    if (task_.open_until) pass(bed, context_.hours, *task_.open_until, true);
    int sum_s = 0;
    for (Outlook before = bed; first_dry(bed, context_.hours, closing, test_); before = bed) {
        // Left at the end of the minutes within which it dries; watered at once.
        const int run_s = std::min(std::max(task_.zone->shortest_run_s, full_s(bed) / 2),
                                   static_cast<int>((closing - bed.at).count()));
        if (run_s <= 0) break;
        sum_s += run_s;
        pass(bed, context_.hours, bed.at + Seconds{run_s}, true);
        if (bed.at >= closing) break;
    }
    return sum_s;
}

WallTime Sizer::night_until(WallTime start) const {
    const auto opening = next_opening(open_, start);
    return opening ? std::max(*opening + kMorningSlack, start + kSpacing) : start + kSpacing;
}

Size Sizer::deep(WallTime start) const {
    const Outlook then = at(start);
    const double full_mm = filling_mm(then, 0);
    const double given_mm = filling_mm(then, room_mm(then));
    Size size = split(then, std::max(task_.zone->shortest_run_s, seconds_for(given_mm, start)));
    size.left_to_rain_mm = full_mm - given_mm;
    return size;
}

int Sizer::filling_s(WallTime start) const {
    const Outlook then = at(start);
    return seconds_for(filling_mm(then, room_mm(then)), start);
}

double Sizer::filling_mm(const Outlook& then, double room_mm) const {
    const double depth_mm = task_.needs.wet_depth_mm;
    if (test_.layer != DryTest::Layer::root_zone) return deficit_mm(then, depth_mm);
    // A young lawn's roots may be deeper than its phase asks to wet (old turf's are): what is
    // judged is filled, or the next run would be due at once.
    const double filled_mm = test_.driest_quarter ? std::max(depth_mm, test_.depth_mm) : depth_mm;
    const double lacks_mm = roots_deficit_mm(then, filled_mm);
    return then.book ? std::max(lacks_mm, then.book->used_mm - room_mm) : lacks_mm;
}

double Sizer::room_mm(const Outlook& then) const {
    // Who says that it is dry is not told to wait for rain.
    if (!then.book || then.book->used_mm <= 0 || task_.reported_dry) return 0;
    return rain_room_mm(then, context_.hours, seconds_for(then.book->used_mm, then.at),
                        kMostRoom * test_.allowed_depletion * then.roots_hold_mm);
}

Size Sizer::split(const Outlook& before, int total_s) const {
    ZoneState state = task_.state;
    if (!test_.driest_quarter) state.mean = before.column;
    const int longest =
        std::max(task_.zone->shortest_run_s, task_.most_s.value_or(task_.zone->longest_run_s));
    const int intake =
        longest_intake_s(*task_.spec, state, hour_of(context_.hours, before.at), longest);
    return {total_s, std::clamp(total_s, task_.zone->shortest_run_s,
                                std::max(intake, task_.zone->shortest_run_s))};
}

double Sizer::mm_per_s(WallTime at) const {
    return ground_rate_mm_per_h(*task_.spec, hour_of(context_.hours, at)) * now_.share / 3600.0;
}

int Sizer::seconds_for(double net_mm, WallTime start) const {
    return whole_minutes_s(net_mm / mm_per_s(start));
}

int Sizer::full_s(const Outlook& bed) const {
    return std::max(task_.zone->shortest_run_s,
                    seconds_for(deficit_mm(bed, task_.needs.wet_depth_mm) + kExcessMm, bed.at));
}

WallTime Sizer::rainless_dry(const Outlook& before, int run_s, WallTime until) const {
    Outlook o = before;
    o.rain_from = kNoRain;
    return dry_after(o, run_s, until);
}

bool Sizer::lasts(const Outlook& before, int run_s, WallTime until) const {
    return dry_after(before, run_s, until) >= until;
}

WallTime Sizer::dry_after(const Outlook& before, int run_s, WallTime until) const {
    Outlook o = before;
    pass(o, context_.hours, o.at + Seconds{run_s}, true);
    return first_dry(o, context_.hours, until, test_).value_or(until);
}

int Sizer::shortest_lasting(const Outlook& before, int shortest, int most, WallTime until) const {
    int low = shortest / kRunUnitS;
    int high = std::max(low, most / kRunUnitS);
    while (low < high) {
        const int middle = (low + high) / 2;
        if (lasts(before, middle * kRunUnitS, until))
            high = middle;
        else
            low = middle + 1;
    }
    return low * kRunUnitS;
}

int Sizer::deeper_s(Outlook before, WallTime start, int most, WallTime until) const {
    before.rain_from = kNoRain; // or the bed may last so much longer by a shower that it pays
    const double full_mm =
        std::max(deficit_mm(before, kFeedingDepths * task_.needs.wet_depth_mm) + kExcessMm,
                 deficit_mm(before, task_.needs.wet_depth_mm) + kMostExcessMm);
    const int full = seconds_for(full_mm, start);
    if (full <= most) return 0;
    const WallTime at_most = dry_after(before, most, until);
    const WallTime at_full = dry_after(before, full, until);
    // At night the grass waits for the morning; what dries by day is what costs.
    if (at_full - at_most < kWorthDeeper || !hour_of(context_.hours, at_most).daylight) return 0;
    const WallTime enough = at_full - kWithin;
    return shortest_lasting(before, most, full, std::max(enough, at_most)) - most;
}

} // namespace firstmow::watering
