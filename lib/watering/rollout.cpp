#include "watering/rollout.hpp"

#include "watering/tap.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

namespace firstmow::watering {

namespace {

// As in the outlook: short steps while it may be watered, long ones when the tap is closed.
constexpr Seconds kOpenStep{600};
constexpr Seconds kClosedStep{900};
// A bed that is watered in time rests so long after a run, as the engine has it.
constexpr Seconds kRest{900};

constexpr Seconds kMostTurns{7200};

struct Living {
    const SharedBed* bed = nullptr;
    LastRun last;
    Outlook now;
    WallTime open_until;
    WallTime not_before;
    bool came_to_last = false;
    mutable std::optional<WallTime> dry_at; // without water; looked up when it is asked for

    WallTime last_from() const { return last.end - Seconds{last.run_s}; }
    bool wants_last() const { return last.run_s >= bed->task.zone->shortest_run_s; }
};

class Day {
public:
    Day(const PlanContext& context, std::span<const ZoneTask> tasks,
        const std::deque<SharedBed>& beds, const std::vector<LastRun>& last, const Way& way)
        : context_(context), way_(way), tap_(*context.garden) {
        out_.next.resize(beds.size());
        out_.before_last.resize(beds.size());
        for (const ZoneTask& task : tasks)
            if (task.open_until)
                tap_.take(context.now, *task.open_until, task.zone->flow_l_per_min());
        for (const SharedBed& bed : beds) {
            Living& l = beds_.emplace_back();
            l.bed = &bed;
            l.last = last[beds_.size() - 1];
            // As expected, not as feared: of one bed's caution others would pay.
            l.now = look(*bed.task.spec, bed.task.state, bed.test, context.now);
            l.now.caution = 0;
            l.open_until = bed.task.open_until.value_or(context.now);
            turns_ += Seconds{bed.full_s / 2};
            hours_to_ = std::max(hours_to_, bed.hours_to);
            end_ = std::max(end_, bed.day_to);
        }
        turns_ =
            std::min(turns_ * (static_cast<int>(beds.size()) - 1) / static_cast<int>(beds.size()),
                     kMostTurns);
    }

    LivedDay live() {
        for (WallTime now = context_.now; now < end_;) {
            note_last(now);
            if (now < hours_to_) give(now);
            WallTime next = std::min(now + (now < hours_to_ ? kOpenStep : kClosedStep), end_);
            for (const Living& l : beds_) {
                if (l.open_until > now) next = std::min(next, l.open_until);
                if (l.wants_last() && l.last_from() > now) next = std::min(next, l.last_from());
            }
            const bool daylight = hour_of(context_.hours, now).daylight;
            for (Living& l : beds_) {
                pass(l.now, context_.hours, next, l.open_until > now);
                if (daylight)
                    out_.cost_min += cost_of_drying(*l.bed, l.now) *
                                     static_cast<double>((next - now).count()) / 60;
            }
            now = next;
        }
        return std::move(out_);
    }

private:
    void note_last(WallTime now) {
        for (Living& l : beds_) {
            if (l.came_to_last || now < std::min(l.last_from(), l.bed->hours_to)) continue;
            l.came_to_last = true;
            out_.before_last[static_cast<std::size_t>(&l - beds_.data())] = l.now;
        }
    }

    // Whether it is time to water it: it will be dry when all others have had their turn before it.
    bool is_due(const Living& l, WallTime now) const {
        if (!l.dry_at) {
            Outlook o = l.now;
            l.dry_at = first_dry(o, context_.hours, l.bed->hours_to, l.bed->test)
                           .value_or(l.bed->hours_to + kOpenStep + turns_);
        }
        return *l.dry_at <= now + kOpenStep + turns_;
    }

    // What the bed would be given at `now`, 0 for nothing.
    int wanted_s(const Living& l, WallTime now) const {
        const SharedBed& bed = *l.bed;
        const int shortest = bed.task.zone->shortest_run_s;
        const auto left_s = static_cast<int>((bed.hours_to - now).count());
        if (l.open_until > now || bed.earliest > now || left_s < shortest) return 0;
        const int most_s = std::min(bed.longest_s, left_s);
        if (last_is_due(l, now)) return std::min(l.last.run_s, most_s);
        if (l.not_before > now) return 0;
        const int full_s = bed.sizer.full_s(l.now);
        const int run_s = std::max(whole_minutes_s(way_.run_share * full_s), shortest);
        if (!ahead_at(bed, now)) return is_due(l, now) ? std::min(run_s, most_s) : 0;
        const auto enough_s = static_cast<int>(*way_.ahead_from * bed.full_s);
        return full_s < std::max(2 * shortest, enough_s) ? 0 : std::min(run_s, most_s);
    }

    bool ahead_at(const SharedBed& bed, WallTime now) const {
        return way_.ahead_from && now >= bed.hours_to - way_.ahead_span;
    }

    // Who goes before whom, whatever the hour.
    using Standing = std::pair<int, int>;
    Standing standing(const Living& l) const {
        const auto place = static_cast<int>(&l - beds_.data());
        const int stake = way_.dearest_first ? -static_cast<int>(l.bed->stake) : 0;
        return {stake, way_.first == Way::First::first_bed ? place : 0};
    }
    bool last_is_due(const Living& l, WallTime now) const {
        return l.wants_last() && now >= l.last_from();
    }
    // The least goes first.
    using Rank = std::tuple<Standing, bool, double>;
    Rank rank(const Living& l, WallTime now) const {
        return {standing(l), !last_is_due(l, now),
                -judged_kpa(l.now, l.bed->test) / l.bed->test.threshold_kpa};
    }

    // Up to where the last run begins of a bed that has no less a standing, if it leaves no room.
    int before_last_runs_s(const Living& l, WallTime now, int run_s) const {
        for (const Living& other : beds_) {
            if (&other == &l || !other.wants_last() || other.last_from() < now) continue;
            if (standing(l) < standing(other)) continue;
            if (other.bed->flow_l_per_min + l.bed->flow_l_per_min <=
                context_.garden->supply.flow_l_per_min)
                continue;
            run_s = std::min(run_s, static_cast<int>((other.last_from() - now).count()));
        }
        return run_s;
    }

    void give(WallTime now) {
        std::vector<std::pair<Rank, Living*>> order;
        for (Living& l : beds_)
            if (wanted_s(l, now) > 0) order.push_back({rank(l, now), &l});
        std::stable_sort(order.begin(), order.end(),
                         [](const auto& a, const auto& b) { return a.first < b.first; });
        for (const auto& [ignored, l] : order) {
            const bool last = last_is_due(*l, now);
            int run_s = wanted_s(*l, now);
            if (!last) run_s = before_last_runs_s(*l, now, run_s);
            if (run_s < l->bed->task.zone->shortest_run_s ||
                !tap_.has_room(now, now + Seconds{run_s}, l->bed->flow_l_per_min))
                continue;
            tap_.take(now, now + Seconds{run_s}, l->bed->flow_l_per_min);
            auto& next = out_.next[static_cast<std::size_t>(l - beds_.data())];
            if (!next) next = PlannedRun{now, run_s, ahead_at(*l->bed, now)};
            out_.open += Seconds{run_s};
            l->open_until = now + Seconds{run_s};
            l->not_before = l->open_until + (ahead_at(*l->bed, now) ? Seconds{0} : kRest);
            l->dry_at.reset();
            if (last) l->last.run_s -= run_s; // the rest of it may follow
        }
    }

    const PlanContext& context_;
    const Way& way_;
    Tap tap_;
    std::vector<Living> beds_;
    Seconds turns_{0}; // what the others' runs take when all want one, one after the other
    WallTime hours_to_;
    WallTime end_;
    LivedDay out_;
};

} // namespace

LivedDay live_day(const PlanContext& context, std::span<const ZoneTask> tasks,
                  const std::deque<SharedBed>& beds, const std::vector<LastRun>& last,
                  const Way& way) {
    return Day(context, tasks, beds, last, way).live();
}

} // namespace firstmow::watering
