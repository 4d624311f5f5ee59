// A day of runs, tried: which length comes cheapest.
#include "watering/sizer.hpp"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

namespace firstmow::watering {

namespace {

// Lengths that are compared, as shares of the run that fills the bed; for how long; and what an
// hour of the sun on a dry bed costs.
constexpr std::array<double, 6> kShares{1.6, 1.0, 0.7, 0.5, 0.35, 0.2};
constexpr double kUsualShare = 0.5;
constexpr Seconds kNear{3600};
constexpr Seconds kTried{24 * 3600};
constexpr Seconds kStep{900};
constexpr double kDryMmPerH = 10;

// The cheapest of `count`, where costs have one valley: down from `begin`, to whichever side falls.
template <class Cost>
std::size_t valley(std::size_t count, std::size_t begin, const Cost& cost_of) {
    std::size_t best = begin;
    double least = cost_of(best);
    for (const int way : {-1, 1}) {
        for (auto i = static_cast<int>(begin) + way; i >= 0 && i < static_cast<int>(count);
             i += way) {
            const double cost = cost_of(static_cast<std::size_t>(i));
            if (cost >= least) break;
            least = cost;
            best = static_cast<std::size_t>(i);
        }
        if (best != begin) break;
    }
    return best;
}

} // namespace

Sizer::Thrifty Sizer::thriftiest(const Outlook& before) const {
    const int shortest = task_.zone->shortest_run_s;
    const int most = full_s(before);
    const auto of_share = [&](double share) {
        return std::max(whole_minutes_s(share * most), shortest);
    };
    if (before.at - context_.now > kNear) return {kUsualShare, of_share(kUsualShare)};
    Trial rainless;
    const double share = kShares[valley(kShares.size(), kShares.size() / 2, [&](std::size_t k) {
        return cost_mm(before, of_share(kShares[k]), kShares[k], rainless);
    })];
    if (!rain_within(before)) return {share, of_share(share)};
    // With the rain that is counted on it can only be shorter.
    std::vector<int> lengths;
    for (int s = of_share(share); s > shortest;
         s = std::min(s - kRunUnitS, s * 4 / 5 / kRunUnitS * kRunUnitS))
        lengths.push_back(s);
    lengths.push_back(shortest);
    Trial with_rain{true, {}};
    const int run_s = lengths[valley(lengths.size(), 0, [&](std::size_t k) {
        return cost_mm(before, lengths[k], share, with_rain);
    })];
    return {share, run_s};
}

bool Sizer::rain_within(const Outlook& bed) const {
    return std::any_of(context_.hours.begin(), context_.hours.end(), [&](const HourDemand& hour) {
        return hour.start < bed.at + kTried && hour.start + Seconds{3600} > bed.at &&
               counted_rain_mm_per_h(hour, bed.rain_from) > 0;
    });
}

bool Sizer::better_in_two(const Outlook& before, const Thrifty& thrifty, int run_s) const {
    if (run_s <= thrifty.run_s || before.at - context_.now > kNear) return false;
    Trial trial{true, {}};
    return cost_mm(before, thrifty.run_s, thrifty.share, trial) <
           cost_mm(before, run_s, thrifty.share, trial);
}

double Sizer::cost_mm(Outlook o, int first_s, double share, Trial& trial) const {
    if (!trial.rain) o.rain_from = kNoRain;
    const double depth_mm = task_.needs.wet_depth_mm;
    const int shortest = task_.zone->shortest_run_s;
    const double lacked_mm = deficit_mm(o, depth_mm);
    const WallTime end = std::min(o.at + kTried, context_.hours.back().start + Seconds{3600});
    double cost = 0;
    const auto mm_per_s = [&] {
        const HourDemand& hour = hour_of(context_.hours, o.at);
        return ground_rate_mm_per_h(*o.spec, hour) * o.share / 3600.0;
    };
    const auto give = [&](int run_s) {
        cost += kStartMm + mm_per_s() * run_s;
        pass(o, context_.hours, o.at + Seconds{run_s}, true);
    };
    give(first_s);
    std::optional<Outlook> closing; // as the tap closes, until it is watered then
    while (o.at < end) {
        const Outlook was = o;
        pass(o, context_.hours, std::min(o.at + kStep, end), false);
        const bool open = span_at(open_, o.at) != nullptr;
        if (span_at(open_, was.at) != nullptr && !open) closing = was;
        if (!is_dry(o, test_)) continue;
        if (open) {
            const WallTime dry_by = o.at;
            o = was;
            first_dry(o, context_.hours, dry_by, test_);
            give(std::max(shortest, whole_minutes_s(share * full_s(o))));
        } else if (closing) {
            o = *std::exchange(closing, std::nullopt);
            const int most = full_s(o);
            if (!trial.may_lack_mm)
                trial.may_lack_mm =
                    deficit_mm(o, depth_mm) -
                    mm_per_s() * shortest_lasting(o, shortest, most, night_until(o.at));
            const double lacks_mm = deficit_mm(o, depth_mm) - *trial.may_lack_mm;
            give(std::clamp(whole_minutes_s(lacks_mm / mm_per_s()), shortest, most));
        } else if (hour_of(context_.hours, was.at).daylight) {
            cost += kDryMmPerH * static_cast<double>((o.at - was.at).count()) / 3600.0;
        }
    }
    return cost + deficit_mm(o, depth_mm) - lacked_mm;
}

} // namespace firstmow::watering
