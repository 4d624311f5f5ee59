#include "renovation/frost.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::renovation {

namespace {

// Of the days that had to be known up to the first freeze, or through a season without one.
constexpr double kKnownEnough = 0.9;
constexpr double kFreezing = 0;

// The standard normal quantile, by halving: `p` within (0, 1).
double normal_quantile(double p) {
    double low = -10;
    double high = 10;
    for (int i = 0; i < 100; ++i) {
        const double middle = (low + high) / 2;
        (0.5 * std::erfc(-middle / std::sqrt(2.0)) < p ? low : high) = middle;
    }
    return (low + high) / 2;
}

double weibull_quantile(std::vector<double> days, double p) {
    std::sort(days.begin(), days.end());
    const auto n = static_cast<double>(days.size());
    const double rank = std::clamp(p * (n + 1), 1.0, n);
    const auto below = static_cast<std::size_t>(std::floor(rank)) - 1;
    const std::size_t above = std::min(below + 1, days.size() - 1);
    return std::lerp(days[below], days[above], rank - std::floor(rank));
}

double normal_fit_quantile(std::span<const double> days, double p) {
    const auto n = static_cast<double>(days.size());
    double mean = 0;
    for (const double day : days)
        mean += day / n;
    double squares = 0;
    for (const double day : days)
        squares += (day - mean) * (day - mean);
    if (days.size() < 2) return mean;
    return mean + normal_quantile(p) * std::sqrt(squares / (n - 1));
}

// One season's worth of a record, by day since its start.
struct Season {
    Date start;
    int known = 0;
    std::optional<int> freeze;
    int known_before_freeze = 0;
};

void settle(const Season& season, FirstFreezes& found) {
    if (season.freeze) {
        // The day of the freeze itself is known; those before it have to be, mostly.
        if (season.known_before_freeze >= kKnownEnough * *season.freeze)
            found.days.push_back(*season.freeze);
        else
            ++found.years_skipped;
    } else if (season.known >= kKnownEnough * 365) {
        ++found.years_without;
    } else {
        ++found.years_skipped;
    }
}

} // namespace

std::optional<double> frost_day(std::span<const double> days, int years_without, FrostMethod method,
                                double probability) {
    CHECK(probability > 0 && probability < 1 && years_without >= 0);
    if (days.empty()) return std::nullopt;
    const auto n = static_cast<double>(days.size());
    const double share = n / (n + years_without);
    const double p = probability / share;
    if (p >= 1) return std::nullopt;
    return method == FrostMethod::weibull
               ? weibull_quantile(std::vector<double>(days.begin(), days.end()), p)
               : normal_fit_quantile(days, p);
}

FrostDays frost_days(std::span<const double> days, int years_without, FrostMethod method) {
    return {frost_day(days, years_without, method, 0.1),
            frost_day(days, years_without, method, 0.5),
            frost_day(days, years_without, method, 0.9),
            static_cast<int>(days.size()) + years_without, years_without};
}

Date season_start(Date date, bool southern) {
    const Date first = southern ? Date{date.year() / 1 / 1} : Date{date.year() / 7 / 1};
    return date >= first ? first : Date{(date.year() - std::chrono::years{1}) / 7 / 1};
}

FirstFreezes first_freezes(std::span<const DailyAir> record, bool southern) {
    FirstFreezes found;
    std::optional<Season> season;
    for (const DailyAir& day : record) {
        const Date start = season_start(day.date, southern);
        if (!season || season->start != start) {
            if (season) settle(*season, found);
            season.emplace();
            season->start = start;
        }
        if (!day.min_c) continue;
        ++season->known;
        if (season->freeze) continue;
        if (*day.min_c <= kFreezing)
            season->freeze = days_between(start, day.date);
        else
            ++season->known_before_freeze;
    }
    if (season) settle(*season, found);
    return found;
}

} // namespace firstmow::renovation
