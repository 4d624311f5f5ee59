#include "watering/day_search.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace firstmow::watering {

namespace {

constexpr std::array<double, 6> kShares{1.6, 1.0, 0.7, 0.5, 0.35, 0.2};
constexpr Seconds kStep{900};
// Half of the time goes into nights, in which nothing is decided.
constexpr Seconds kNightStep{1800};
constexpr std::int64_t kSlotS = 1800;
// What an hour of the sun on a dry bed costs.
constexpr double kDryMmPerH = 10;
// Days that differ by less cost the same: half a start.
constexpr double kSameMm = kStartMm / 2;
// A way is given up for one that is due later, within so long, and has spent less by so much.
constexpr Seconds kBeside{3 * 3600};
constexpr double kClearlyMm = 0.05;

// By how much the one must be cheaper to take the other's place: the longer first run goes before.
double handicap_mm(int first_s, int other_s) {
    return first_s == other_s ? 0 : first_s > other_s ? -kSameMm : kSameMm;
}

} // namespace

DaySearch::DaySearch(const PlanContext& context, const ZoneTask& task, const DryTest& test,
                     const std::vector<Span>& open, const Sizer& sizer, const Outlook& before,
                     bool rain)
    : context_(context),
      task_(task),
      test_(test),
      open_(open),
      sizer_(sizer),
      before_(before),
      end_(std::min(before.at + kLongestDay, context.hours.back().start + Seconds{3600})) {
    if (!rain) before_.rain_from = kNoRain;
    if (const auto opening = next_opening(open, before.at)) end_ = std::min(end_, *opening);
    lacked_mm_ = deficit_mm(before_, task.needs.wet_depth_mm);
    for (const HourDemand& hour : context.hours) {
        const WallTime from = std::max(hour.start, before.at);
        const WallTime to = std::min(hour.start + Seconds{3600}, end_);
        if (from >= to) continue;
        const CoverDemand demand = cover_demand(hour, before.cover);
        asked_.push_back({{from, to}, demand.evaporation_mm_per_h + demand.transpiration_mm_per_h});
    }
}

DaySearch::Found DaySearch::first_up_to(int most_s) {
    int last_s = 0;
    for (const int length_s : lengths_s(before_)) {
        const int run_s = std::min(length_s, most_s);
        if (run_s != std::exchange(last_s, run_s)) follow({before_, 0, 0, run_s, {}}, run_s);
    }
    return search();
}

DaySearch::Found DaySearch::with_first(int first_s) {
    follow({before_, 0, 0, first_s, {}}, first_s);
    return search();
}

DaySearch::Found DaySearch::search() {
    while (!due_.empty()) {
        const auto next = std::min_element(
            due_.begin(), due_.end(), [](const Due& a, const Due& b) { return a.slot < b.slot; });
        const Way way = std::move(next->way);
        looked_at_ = next->slot;
        due_.erase(next);
        if (too_dear(way) || passed_by(way)) continue;
        for (const int run_s : lengths_s(way.bed))
            follow(way, run_s);
    }
    looked_at_ = -1;
    const std::vector<Found> ends = std::exchange(ends_, {});
    CHECK(!ends.empty());
    const double least_mm =
        std::min_element(ends.begin(), ends.end(), [](const Found& a, const Found& b) {
            return a.cost_mm < b.cost_mm;
        })->cost_mm;
    Found longest;
    for (const Found& end : ends)
        if (end.cost_mm <= least_mm + kSameMm && end.first_s > longest.first_s) longest = end;
    return longest;
}

std::vector<int> DaySearch::lengths_s(const Outlook& bed) const {
    const int full_s = sizer_.full_s(bed);
    std::vector<int> lengths;
    for (const double share : kShares) {
        const int run_s = std::max(whole_minutes_s(share * full_s), task_.zone->shortest_run_s);
        if (lengths.empty() || lengths.back() != run_s) lengths.push_back(run_s);
    }
    return lengths;
}

void DaySearch::give(Way& way, int run_s) const {
    way.cost_mm += kStartMm + sizer_.mm_per_s(way.bed.at) * run_s;
    pass(way.bed, context_.hours, way.bed.at + Seconds{run_s}, true);
}

void DaySearch::follow(Way way, int run_s) {
    // No longer than the tap is open.
    if (const Span* span = span_at(open_, way.bed.at))
        run_s = std::min(run_s, static_cast<int>((span->to - way.bed.at).count()));
    give(way, run_s);
    live_on(std::move(way));
}

void DaySearch::live_on(Way way) {
    Outlook& bed = way.bed;
    while (bed.at < end_) {
        const Outlook was = bed;
        const bool night =
            span_at(open_, bed.at) == nullptr && !hour_of(context_.hours, bed.at).daylight;
        const Seconds step = night ? kNightStep : kStep;
        pass(bed, context_.hours, std::min(bed.at + step, end_), false, step);
        const bool open = bed.at < end_ && span_at(open_, bed.at) != nullptr;
        if (!open && span_at(open_, was.at) != nullptr) way.closing = was;
        if (!is_dry(bed, test_)) continue;
        if (open) {
            const WallTime dry_by = bed.at;
            bed = was;
            first_dry(bed, context_.hours, dry_by, test_);
            note_due(std::move(way));
            return;
        }
        if (way.closing)
            water_at_closing(way);
        else if (hour_of(context_.hours, was.at).daylight)
            way.cost_mm += kDryMmPerH * static_cast<double>((bed.at - was.at).count()) / 3600.0;
    }
    note_end(way);
}

void DaySearch::water_at_closing(Way& way) {
    way.bed = *std::exchange(way.closing, std::nullopt);
    const double lacks_mm = deficit_mm(way.bed, task_.needs.wet_depth_mm);
    const double rate = sizer_.mm_per_s(way.bed.at);
    if (!may_lack_mm_) may_lack_mm_ = lacks_mm - rate * sizer_.overnight_s(way.bed);
    const int shortest_s = task_.zone->shortest_run_s;
    give(way, std::clamp(whole_minutes_s((lacks_mm - *may_lack_mm_) / rate), shortest_s,
                         std::max(shortest_s, sizer_.full_s(way.bed))));
}

void DaySearch::note_due(Way way) {
    way.beyond_mm =
        way.cost_mm + deficit_mm(way.bed, task_.needs.wet_depth_mm) - asked_mm(way.bed.at);
    // Of a half hour that has been looked at there is no second look, however soon it is dry again:
    // with the next, so that a search ends soon on any tap.
    const std::int64_t slot =
        std::max<std::int64_t>((way.bed.at - before_.at).count() / kSlotS, looked_at_ + 1);
    const auto same = std::find_if(due_.begin(), due_.end(),
                                   [slot](const Due& other) { return other.slot == slot; });
    if (same == due_.end())
        due_.push_back({slot, std::move(way)});
    else if (way.beyond_mm + handicap_mm(way.first_s, same->way.first_s) < same->way.beyond_mm)
        same->way = std::move(way);
}

void DaySearch::note_end(const Way& way) {
    const double cost_mm = way.cost_mm + deficit_mm(way.bed, task_.needs.wet_depth_mm) - lacked_mm_;
    const auto same = std::find_if(ends_.begin(), ends_.end(), [&](const Found& other) {
        return other.first_s == way.first_s;
    });
    if (same == ends_.end())
        ends_.push_back({way.first_s, cost_mm});
    else
        same->cost_mm = std::min(same->cost_mm, cost_mm);
}

// At its end it will have cost another start, and lack something.
bool DaySearch::too_dear(const Way& way) const {
    return std::any_of(ends_.begin(), ends_.end(), [&](const Found& end) {
        return way.cost_mm + kStartMm - lacked_mm_ > end.cost_mm + kSameMm;
    });
}

bool DaySearch::passed_by(const Way& way) const {
    return std::any_of(due_.begin(), due_.end(), [&](const Due& other) {
        return other.way.beyond_mm + kClearlyMm < way.beyond_mm &&
               other.way.bed.at < way.bed.at + kBeside;
    });
}

double DaySearch::asked_mm(WallTime t) const {
    double sum = 0;
    for (const Asked& part : asked_) {
        if (part.span.from >= t) break;
        sum += part.mm_per_h *
               static_cast<double>((std::min(part.span.to, t) - part.span.from).count()) / 3600.0;
    }
    return sum;
}

} // namespace firstmow::watering
