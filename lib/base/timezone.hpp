// Local time as a value: a table of UTC offsets that somebody else looked up.
//
// The core works in UTC; local time exists for watering hours, days and what people read. The
// shell fills the table from the system's time-zone database, so nothing here reads files.
#pragma once

#include "base/time.hpp"

#include <string>
#include <vector>

namespace firstmow {

struct LocalTime {
    Date date;
    int second_of_day = 0; // 0..86399 on the wall clock
    Seconds utc_offset{0}; // local = UTC + offset
    int hour() const { return second_of_day / 3600; }
    int minute() const { return second_of_day / 60 % 60; }
    // 0 = Monday .. 6 = Sunday.
    int weekday() const;
};

class TimeZone {
public:
    // From `from` on (until the next entry) local time is UTC + offset.
    struct Era {
        WallTime from;
        Seconds utc_offset;
        std::string abbreviation;
        bool operator==(const Era&) const = default;
    };

    // UTC itself.
    TimeZone();
    // `eras` is not empty and sorted by `from`; times before the first use the first.
    TimeZone(std::string name, std::vector<Era> eras);

    const std::string& name() const { return name_; }
    const std::vector<Era>& eras() const { return eras_; }
    LocalTime to_local(WallTime t) const;
    Date local_date(WallTime t) const { return to_local(t).date; }
    // The instant at which the wall clock shows `second_of_day` on `date`. A time that the
    // clocks skip is taken as the instant of the jump; one that they show twice as the first.
    WallTime to_wall(Date date, int second_of_day) const;
    // "14:05" and "2026-08-22 14:05".
    std::string clock_text(WallTime t) const;
    std::string date_clock_text(WallTime t) const;

private:
    const Era& era_at(WallTime t) const;

    std::string name_;
    std::vector<Era> eras_;
};

} // namespace firstmow
