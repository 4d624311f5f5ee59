#include "watering/tap.hpp"

#include <algorithm>
#include <functional>
#include <numeric>

namespace firstmow::watering {

namespace {

constexpr double kRounding = 1e-9;

bool inside(const std::vector<Span>& open, WallTime start, Seconds run) {
    return std::any_of(open.begin(), open.end(), [&](const Span& span) {
        return span.from <= start && start + run <= span.to;
    });
}

} // namespace

Tap::Tap(const garden::Garden& garden)
    : flow_(garden.supply.flow_l_per_min),
      at_once_(static_cast<std::size_t>(garden.interlocks.zones_at_once)),
      pump_rest_(garden.pump ? garden.pump->rest_s : 0) {}

void Tap::take(WallTime from, WallTime to, double flow_l_per_min) {
    if (to > from) taken_.push_back({{from, to}, flow_l_per_min});
}

bool Tap::has_room(WallTime from, WallTime to, double flow_l_per_min) const {
    // Flow changes only where a run begins, so those moments are all that need a look.
    if (is_full_at(from, flow_l_per_min)) return false;
    const bool full = std::any_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
        return t.span.from > from && t.span.from < to && is_full_at(t.span.from, flow_l_per_min);
    });
    return !full && pump_may(from, to);
}

std::optional<WallTime> Tap::latest(const std::vector<Span>& open, WallTime wanted,
                                    WallTime earliest, Seconds run, double flow_l_per_min) const {
    // Only just before another run begins, or at the wish itself, can the latest start be.
    std::vector<WallTime> candidates{wanted};
    for (const Taken& t : taken_) {
        candidates.push_back(t.span.from - run);
        if (pump_rest_.count() == 0) continue;
        candidates.push_back(t.span.from - pump_rest_);
        candidates.push_back(t.span.to); // the pump runs on
    }
    for (const Span& span : open)
        candidates.push_back(span.to - run);
    std::sort(candidates.begin(), candidates.end(), std::greater<>());
    for (const WallTime start : candidates)
        if (start <= wanted && start >= earliest && inside(open, start, run) &&
            has_room(start, start + run, flow_l_per_min))
            return start;
    return std::nullopt;
}

std::optional<WallTime> Tap::earliest(const std::vector<Span>& open, WallTime from, Seconds run,
                                      double flow_l_per_min) const {
    std::vector<WallTime> candidates{from};
    for (const Taken& t : taken_) {
        candidates.push_back(t.span.to);
        if (pump_rest_.count() > 0) candidates.push_back(t.span.from + pump_rest_);
    }
    for (const Span& span : open)
        candidates.push_back(span.from);
    std::sort(candidates.begin(), candidates.end());
    for (const WallTime start : candidates)
        if (start >= from && inside(open, start, run) &&
            has_room(start, start + run, flow_l_per_min))
            return start;
    return std::nullopt;
}

double Tap::used_at(WallTime t) const {
    return std::accumulate(taken_.begin(), taken_.end(), 0.0, [t](double sum, const Taken& x) {
        return sum + (x.span.from <= t && t < x.span.to ? x.flow : 0.0);
    });
}

bool Tap::is_full_at(WallTime t, double flow_l_per_min) const {
    const auto running =
        static_cast<std::size_t>(std::count_if(taken_.begin(), taken_.end(), [t](const Taken& x) {
            return x.span.from <= t && t < x.span.to;
        }));
    return running >= at_once_ || used_at(t) + flow_l_per_min > flow_ + kRounding;
}

bool Tap::pump_may(WallTime from, WallTime to) const {
    if (pump_rest_.count() == 0) return true;
    const bool runs_on = std::any_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
        return t.span.from <= from && from <= t.span.to;
    });
    return std::none_of(taken_.begin(), taken_.end(), [&](const Taken& t) {
        if (t.span.from <= from) return !runs_on && from < t.span.from + pump_rest_;
        return t.span.from > to && t.span.from < from + pump_rest_;
    });
}

} // namespace firstmow::watering
