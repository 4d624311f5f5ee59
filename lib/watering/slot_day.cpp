#include "watering/slot_day.hpp"

#include "base/check.hpp"
#include "watering/tap.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <map>

namespace firstmow::watering {

namespace {

constexpr int kMostSlots = 24;
constexpr int kNearSlots = 3;
constexpr Seconds kNearSlot{900};
constexpr Seconds kFarSlot{1800};
// So many sharings go on, of all beds together and of each kind.
constexpr std::size_t kWidth = 200;
constexpr std::size_t kOfAKind = 12;
// While the day is not over, a millimetre that a bed lacks counts as so many dry minutes; the time
// of the tap as that share of it, to have no needless run.
constexpr double kLackMin = 1;
constexpr double kOpenShare = 0.05;
constexpr Seconds kOpenStep{600};
constexpr Seconds kClosedStep{900};

// From now to the end of the hours. The next few are short, as often as it is planned: which bed
// goes first matters to the minute, which comes tonight does not.
struct Slots {
    std::vector<WallTime> bounds;
    int count() const { return static_cast<int>(bounds.size()) - 1; }
    WallTime from(int slot) const { return bounds[static_cast<std::size_t>(slot)]; }
    WallTime end(int slot) const { return bounds[static_cast<std::size_t>(slot) + 1]; }
};

Slots slots_of(WallTime now, const std::deque<SharedBed>& beds) {
    WallTime to = now;
    Seconds shortest{0};
    for (const SharedBed& bed : beds) {
        to = std::max(to, bed.hours_to);
        shortest = std::max(shortest, Seconds{bed.task.zone->shortest_run_s});
    }
    const Seconds near_length = std::max(kNearSlot, shortest);
    const Seconds left = to - now;
    const Seconds far = std::max(left - near_length * kNearSlots, Seconds{0});
    const Seconds fitting{(far.count() / (kMostSlots - kNearSlots) + 59) / 60 * 60};
    const Seconds length = std::max({kFarSlot, shortest, fitting});
    const auto far_count = static_cast<int>(far / length);
    // Backwards, so that they stay where they are from plan to plan; the first takes what is left.
    Slots slots;
    for (int i = 0; i <= far_count; ++i)
        slots.bounds.push_back(to - length * i);
    while (slots.bounds.back() - now >= 2 * near_length)
        slots.bounds.push_back(slots.bounds.back() - near_length);
    if (slots.bounds.back() > now) slots.bounds.push_back(now);
    std::reverse(slots.bounds.begin(), slots.bounds.end());
    CHECK(slots.count() >= 1 && slots.count() <= 32); // bits of Node::given
    return slots;
}

// A bed at the beginning of a slot, after what it was given so far.
struct Node {
    Outlook bed;
    double cost_min = 0;
    Seconds open{0};
    double lacks_mm = 0;     // times what drying costs it
    std::uint32_t given = 0; // its slots, by bits
    std::optional<PlannedRun> first;
    // The same a slot later; after the last slot in the next morning.
    std::array<Node*, 2> later{}; // without water, with water
};

// All that was lived through of one bed's day.
class BedDays {
public:
    BedDays(const PlanContext& context, const SharedBed& bed, const Slots& slots)
        : context_(context),
          bed_(bed),
          slots_(slots),
          most_s_(std::min(bed.longest_s, static_cast<int>(kFarSlot.count()))) {
        Node& node = nodes_.emplace_back();
        node.bed = look(*bed.task.spec, bed.task.state, bed.test, context.now);
        node.bed.caution = 0; // as expected, not as feared: of one bed's caution others would pay
    }
    Node* root() { return &nodes_.front(); }

    Node* after_slot(Node* node, int slot, bool watered) {
        Node*& later = node->later[watered ? 1 : 0];
        if (later == nullptr) {
            later = &copy(*node);
            if (watered) water(*later, slot);
            pass_by(*later, slots_.end(slot), false);
            later->lacks_mm =
                weight(bed_.stake) * deficit_mm(later->bed, bed_.task.needs.wet_depth_mm);
        }
        return later;
    }
    Node* after_night(Node* node) {
        Node*& later = node->later[0];
        if (later == nullptr) {
            later = &copy(*node);
            pass_by(*later, bed_.day_to, false);
        }
        return later;
    }

private:
    Node& copy(const Node& node) {
        Node& n = nodes_.emplace_back(node);
        n.later = {};
        return n;
    }
    void water(Node& node, int slot) const {
        node.given |= std::uint32_t{1} << slot;
        const WallTime start = std::max(slots_.from(slot), bed_.earliest);
        const WallTime to = std::min(slots_.end(slot), bed_.hours_to);
        const auto room_s = static_cast<int>((to - start).count()) / kRunUnitS * kRunUnitS;
        const int run_s = std::min(bed_.longest_s, room_s);
        if (run_s < bed_.task.zone->shortest_run_s) return;
        if (!node.first)
            node.first = PlannedRun{start, run_s, true};
        else if (node.first->start + Seconds{node.first->run_s} == start &&
                 node.first->run_s + run_s <= most_s_)
            node.first->run_s += run_s; // one start for both
        pass_by(node, start, false);
        pass_by(node, start + Seconds{run_s}, true);
        node.open += Seconds{run_s};
    }
    void pass_by(Node& node, WallTime until, bool open) const {
        Outlook& o = node.bed;
        while (o.at < until) {
            const Seconds most = o.at < bed_.hours_to ? kOpenStep : kClosedStep;
            const WallTime was = o.at;
            // What is under way goes on.
            const bool runs = bed_.task.open_until && was < *bed_.task.open_until;
            const WallTime to = runs ? std::min(until, *bed_.task.open_until) : until;
            const bool daylight = hour_of(context_.hours, was).daylight;
            pass(o, context_.hours, std::min(to, was + most), open || runs);
            if (!daylight) continue;
            const double minutes = static_cast<double>((o.at - was).count()) / 60;
            node.cost_min += minutes * cost_of_drying(bed_, o);
        }
    }

    const PlanContext& context_;
    const SharedBed& bed_;
    const Slots& slots_;
    int most_s_; // of the next run; then it is planned again
    std::deque<Node> nodes_;
};

// Slots so far, shared.
struct Sharing {
    std::array<Node*, kMostSlotBeds> beds{};
    double cost_min = 0; // with the tap's own time
    double rank = 0;
};

class Search {
public:
    Search(const PlanContext& context, std::span<const ZoneTask> tasks,
           const std::deque<SharedBed>& beds)
        : context_(context), tasks_(tasks), beds_(beds), slots_(slots_of(context.now, beds)) {
        for (const SharedBed& bed : beds)
            days_.emplace_back(context, bed, slots_);
    }

    SlotDay best() {
        std::vector<Sharing> sharings(1);
        for (std::size_t i = 0; i < days_.size(); ++i)
            sharings[0].beds[i] = days_[i].root();
        for (int slot = 0; slot < slots_.count(); ++slot)
            sharings = chosen(after_slot(sharings, slot));
        std::stable_sort(sharings.begin(), sharings.end(), [](const Sharing& a, const Sharing& b) {
            return a.cost_min < b.cost_min;
        });
        // The night only adds: what costs more before it than another with it is not looked at.
        std::optional<Sharing> best;
        for (Sharing& s : sharings) {
            if (best && s.cost_min >= best->cost_min) break;
            for (std::size_t i = 0; i < days_.size(); ++i)
                s.beds[i] = days_[i].after_night(s.beds[i]);
            sum_up(s);
            if (!best || s.cost_min < best->cost_min) best = s;
        }
        for (std::size_t i = 0; i < days_.size(); ++i)
            best->beds[i] = without_needless(i, best->beds[i]);
        SlotDay day;
        for (std::size_t i = 0; i < days_.size(); ++i) {
            const Node& node = *best->beds[i];
            day.cost_min += node.cost_min;
            day.open += node.open;
            day.next.push_back(node.first);
        }
        return day;
    }

private:
    using Set = unsigned; // of beds, by bits
    static bool holds(Set set, std::size_t bed) { return (set >> bed & 1U) != 0; }

    bool fit(Set set, int slot) const {
        Tap tap(*context_.garden);
        for (const ZoneTask& task : tasks_)
            if (task.open_until)
                tap.take(context_.now, *task.open_until, task.zone->flow_l_per_min());
        const WallTime end = slots_.end(slot);
        for (std::size_t i = 0; i < beds_.size(); ++i) {
            if (!holds(set, i)) continue;
            const WallTime from = std::max(slots_.from(slot), beds_[i].earliest);
            if (from >= end || !tap.has_room(from, end, beds_[i].flow_l_per_min)) return false;
            tap.take(from, end, beds_[i].flow_l_per_min);
        }
        return true;
    }
    // Who may have the tap together in that slot.
    std::vector<Set> sets(int slot) const {
        std::vector<Set> sets{0};
        for (std::size_t k = 0; k < sets.size(); ++k)
            for (auto i = static_cast<std::size_t>(std::bit_width(sets[k])); i < beds_.size(); ++i)
                if (const Set more = sets[k] | 1U << i; fit(more, slot)) sets.push_back(more);
        // Idle taps are of no use where water is short; what proves needless is taken back.
        std::erase_if(sets, [all = sets](Set set) {
            return std::any_of(all.begin(), all.end(),
                               [&](Set more) { return more != set && (more & set) == set; });
        });
        return sets;
    }

    static double cost_of(const Node& node) {
        return node.cost_min + kOpenShare * static_cast<double>(node.open.count()) / 60;
    }
    // The bed's day with fewer of its slots, the latest taken back first, where that costs less.
    Node* without_needless(std::size_t bed, Node* night) {
        Node* best = night;
        for (int slot = slots_.count() - 1; slot >= 0; --slot) {
            const auto bit = std::uint32_t{1} << slot;
            if (!(best->given & bit)) continue;
            Node* node = days_[bed].root();
            for (int k = 0; k < slots_.count(); ++k)
                node = days_[bed].after_slot(node, k, (best->given & ~bit) >> k & 1U);
            node = days_[bed].after_night(node);
            if (cost_of(*node) < cost_of(*best)) best = node;
        }
        return best;
    }

    void sum_up(Sharing& s) const {
        s.cost_min = 0;
        double lacks_mm = 0;
        for (std::size_t i = 0; i < beds_.size(); ++i) {
            const Node& node = *s.beds[i];
            s.cost_min += node.cost_min + kOpenShare * static_cast<double>(node.open.count()) / 60;
            lacks_mm += node.lacks_mm;
        }
        s.rank = s.cost_min + kLackMin * lacks_mm;
    }

    std::vector<Sharing> after_slot(const std::vector<Sharing>& sharings, int slot) {
        std::vector<Sharing> after;
        const auto sets_now = sets(slot);
        for (const Sharing& s : sharings)
            for (const Set set : sets_now) {
                Sharing& next = after.emplace_back();
                for (std::size_t i = 0; i < days_.size(); ++i)
                    next.beds[i] = days_[i].after_slot(s.beds[i], slot, holds(set, i));
                sum_up(next);
            }
        return after;
    }

    std::vector<Sharing> chosen(std::vector<Sharing> of) const {
        std::stable_sort(of.begin(), of.end(),
                         [](const Sharing& a, const Sharing& b) { return a.rank < b.rank; });
        std::map<std::array<int, kMostSlotBeds>, std::size_t> kinds;
        std::vector<Sharing> chosen;
        for (const Sharing& s : of) {
            std::array<int, kMostSlotBeds> kind{};
            for (std::size_t i = 0; i < beds_.size(); ++i)
                kind[i] = std::popcount(s.beds[i]->given);
            if (kinds[kind]++ >= kOfAKind) continue;
            chosen.push_back(s);
            if (chosen.size() * beds_.size() >= kWidth) break;
        }
        return chosen;
    }

    const PlanContext& context_;
    std::span<const ZoneTask> tasks_;
    const std::deque<SharedBed>& beds_;
    Slots slots_;
    std::deque<BedDays> days_;
};

} // namespace

SlotDay slot_day(const PlanContext& context, std::span<const ZoneTask> tasks,
                 const std::deque<SharedBed>& beds) {
    CHECK(!beds.empty() && beds.size() <= kMostSlotBeds);
    return Search(context, tasks, beds).best();
}

} // namespace firstmow::watering
