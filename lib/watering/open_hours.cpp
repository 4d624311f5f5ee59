#include "watering/open_hours.hpp"

#include "weather/sun.hpp"

#include <algorithm>

namespace firstmow::watering {

namespace {

// A day's hours shorter than this after the evening limit are as good as none.
constexpr Seconds kUsefulDay{1800};

std::vector<Span> cut_at(const std::vector<Span>& day, WallTime limit) {
    std::vector<Span> cut;
    for (Span span : day) {
        span.to = std::min(span.to, limit);
        if (span.to > span.from) cut.push_back(span);
    }
    return cut;
}

Seconds total(const std::vector<Span>& day) {
    Seconds sum{0};
    for (const Span& span : day)
        sum += span.to - span.from;
    return sum;
}

} // namespace

Evenings::Evenings(const weather::Place& place, const TimeZone& local, WallTime from,
                   WallTime until) {
    for (Date date = local.local_date(from); local.to_wall(date, 0) < until;
         date = add_days(date, 1))
        days_.emplace_back(date, weather::sun_times(place, date).sunset);
}

std::optional<WallTime> Evenings::sunset(Date date) const {
    for (const auto& [day, sunset] : days_)
        if (day == date) return sunset;
    return std::nullopt;
}

std::vector<Span> open_spans(const garden::Supply& supply, const TimeZone& local,
                             const weather::Place& place, Seconds before_sunset, WallTime from,
                             WallTime until) {
    return open_spans(supply, local, Evenings(place, local, from, until), before_sunset, from,
                      until);
}

std::vector<Span> open_spans(const garden::Supply& supply, const TimeZone& local,
                             const Evenings& evenings, Seconds before_sunset, WallTime from,
                             WallTime until) {
    std::vector<Span> spans;
    Date date = local.local_date(from);
    for (; local.to_wall(date, 0) < until; date = add_days(date, 1)) {
        const std::chrono::weekday weekday{std::chrono::sys_days{date}};
        if (!supply.days[weekday.iso_encoding() - 1]) continue;
        std::vector<Span> day;
        for (const garden::HoursOfDay& hours : supply.hours)
            day.push_back({local.to_wall(date, hours.from_s), local.to_wall(date, hours.to_s)});
        if (before_sunset.count() > 0) {
            if (const auto sunset = evenings.sunset(date)) {
                const auto cut = cut_at(day, *sunset - before_sunset);
                if (total(cut) >= kUsefulDay) day = cut;
            }
        }
        for (const Span& span : day) {
            const Span clipped{std::max(span.from, from), std::min(span.to, until)};
            if (clipped.to > clipped.from) spans.push_back(clipped);
        }
    }
    return spans;
}

} // namespace firstmow::watering
