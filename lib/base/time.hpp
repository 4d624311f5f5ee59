// Time: two clocks that do not convert into each other, and the calendar at the edges.
//
// WallTime is UTC, for plans and logs; it may jump when a board first learns the time.
// MonoTime only ever goes forward (it counts through suspend); every length and every limit on
// an open valve is measured with it. Nothing here reads a clock.
#pragma once

#include "base/result.hpp"

#include <chrono>
#include <cstdint>
#include <string>
#include <string_view>

namespace firstmow {

using Seconds = std::chrono::seconds;
using Millis = std::chrono::milliseconds;

// Seconds since 1970-01-01T00:00:00Z, leap seconds not counted.
using WallTime = std::chrono::sys_seconds;

// A tag, not a clock: it has no now(). The shell fills it from CLOCK_BOOTTIME, the simulator
// from its virtual clock.
struct MonoClock {
    using rep = std::int64_t;
    using period = std::milli;
    using duration = Millis;
    using time_point = std::chrono::time_point<MonoClock, Millis>;
    static constexpr bool is_steady = true;
};
using MonoTime = MonoClock::time_point;

using Date = std::chrono::year_month_day;

constexpr WallTime wall_from_unix(std::int64_t unix_s) {
    return WallTime{Seconds{unix_s}};
}
constexpr std::int64_t to_unix(WallTime t) {
    return t.time_since_epoch().count();
}

// "2026-08-22T12:40:00Z". Years 0000..9999.
std::string to_iso8601(WallTime t);
// Accepts YYYY-MM-DDTHH:MMZ and YYYY-MM-DDTHH:MM:SSZ, the latter also with a fraction of a second,
// which is cut off (scripts write milliseconds); anything else is an Error that says so.
Result<WallTime> parse_iso8601(std::string_view text);

// "2026-08-22".
std::string to_string(Date date);
Result<Date> parse_date(std::string_view text);

// 1..366.
int day_of_year(Date date);
Date add_days(Date date, int days);
// Whole days from `from` to `to`; negative when `to` lies before.
int days_between(Date from, Date to);

} // namespace firstmow
