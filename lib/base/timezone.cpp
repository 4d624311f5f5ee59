#include "base/timezone.hpp"

#include <algorithm>
#include <array>
#include <cstdio>

namespace firstmow {

int LocalTime::weekday() const {
    const std::chrono::weekday day{std::chrono::sys_days{date}};
    return static_cast<int>(day.iso_encoding()) - 1;
}

TimeZone::TimeZone() : TimeZone("UTC", {Era{WallTime{}, Seconds{0}, "UTC"}}) {}

TimeZone::TimeZone(std::string name, std::vector<Era> eras)
    : name_(std::move(name)), eras_(std::move(eras)) {
    CHECK(!eras_.empty());
    CHECK(std::is_sorted(eras_.begin(), eras_.end(),
                         [](const Era& a, const Era& b) { return a.from < b.from; }));
}

const TimeZone::Era& TimeZone::era_at(WallTime t) const {
    const auto after = std::upper_bound(
        eras_.begin(), eras_.end(), t, [](WallTime value, const Era& e) { return value < e.from; });
    return after == eras_.begin() ? eras_.front() : *(after - 1);
}

LocalTime TimeZone::to_local(WallTime t) const {
    const Seconds offset = era_at(t).utc_offset;
    const auto shifted = t + offset;
    const auto day = std::chrono::floor<std::chrono::days>(shifted);
    return LocalTime{Date{day}, static_cast<int>((shifted - day).count()), offset};
}

WallTime TimeZone::to_wall(Date date, int second_of_day) const {
    CHECK(second_of_day >= 0 && second_of_day <= 86400);
    const WallTime as_if_utc = WallTime{std::chrono::sys_days{date}} + Seconds{second_of_day};
    // The offset in force lies between those a day before and a day after. The larger offset
    // gives the earlier instant, which is the first of two when the clock shows a time twice.
    const Seconds before = era_at(as_if_utc - std::chrono::days{1}).utc_offset;
    const Seconds after = era_at(as_if_utc + std::chrono::days{1}).utc_offset;
    for (const Seconds offset : {std::max(before, after), std::min(before, after)}) {
        const WallTime candidate = as_if_utc - offset;
        if (era_at(candidate).utc_offset == offset) return candidate;
    }
    // Skipped by the clocks: the instant at which they jump.
    const WallTime inside = as_if_utc - before;
    return era_at(inside).from;
}

std::string TimeZone::clock_text(WallTime t) const {
    const LocalTime local = to_local(t);
    std::array<char, 16> buffer{};
    std::snprintf(buffer.data(), buffer.size(), "%02d:%02d", local.hour(), local.minute());
    return buffer.data();
}

std::string TimeZone::date_clock_text(WallTime t) const {
    return to_string(to_local(t).date) + " " + clock_text(t);
}

} // namespace firstmow
