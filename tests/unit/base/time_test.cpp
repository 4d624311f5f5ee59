#include "base/time.hpp"
#include "base/timezone.hpp"

#include <doctest/doctest.h>

using namespace firstmow;

TEST_CASE("times are read and written as ISO 8601 UTC, and nothing else is a time") {
    const auto t = parse_iso8601("2026-08-22T12:40:05Z");
    REQUIRE(t.ok());
    CHECK_EQ(to_iso8601(*t), "2026-08-22T12:40:05Z");
    CHECK_EQ(to_iso8601(*parse_iso8601("2026-08-22T12:40Z")), "2026-08-22T12:40:00Z");
    CHECK_EQ(to_unix(*parse_iso8601("1970-01-02T00:00:00Z")), 86400);
    // Scripts write fractions; what has not yet passed does not count.
    for (const char* fraction : {".0", ".123", ".999999999"})
        CHECK_EQ(to_iso8601(*parse_iso8601("2026-08-22T12:40:05" + std::string(fraction) + "Z")),
                 "2026-08-22T12:40:05Z");
    for (const char* wrong :
         {"", "2026-08-22", "2026-08-22T12:40:05", "2026-02-30T00:00:00Z", "2026-08-22T24:00:00Z",
          "2026-08-22 12:40:05Z", "x026-08-22T12:40:05Z", "2026-08-22T12:40:05.Z",
          "2026-08-22T12:40:05.123", "2026-08-22T12:40:05.1x3Z", "2026-08-22T12:40:05.1234567890Z",
          "2026-08-22T12:40.5Z", "2026-08-22T12:40:05.1.2Z"})
        CHECK_FALSE(parse_iso8601(wrong).ok());
}

TEST_CASE("dates count days over leap years") {
    CHECK_EQ(day_of_year(*parse_date("2024-12-31")), 366);
    CHECK_EQ(days_between(*parse_date("2024-02-28"), *parse_date("2024-03-01")), 2);
    CHECK_EQ(to_string(add_days(*parse_date("2026-12-31"), 1)), "2027-01-01");
}

namespace {
// Central European rules of 2026: summer time from 29 March 01:00Z to 25 October 01:00Z.
TimeZone central_europe() {
    return TimeZone("Test/Central",
                    {{*parse_iso8601("2025-10-26T01:00:00Z"), Seconds{3600}, "CET"},
                     {*parse_iso8601("2026-03-29T01:00:00Z"), Seconds{7200}, "CEST"},
                     {*parse_iso8601("2026-10-25T01:00:00Z"), Seconds{3600}, "CET"}});
}
} // namespace

TEST_CASE("local time follows summer time, skipped and doubled hours included") {
    const TimeZone zone = central_europe();
    CHECK_EQ(zone.clock_text(*parse_iso8601("2026-07-01T10:00:00Z")), "12:00");
    CHECK_EQ(zone.clock_text(*parse_iso8601("2026-12-01T10:00:00Z")), "11:00");

    const auto wall = [&](const char* date, int hour, int minute) {
        return to_iso8601(zone.to_wall(*parse_date(date), hour * 3600 + minute * 60));
    };
    CHECK_EQ(wall("2026-07-01", 12, 0), "2026-07-01T10:00:00Z");
    CHECK_EQ(wall("2026-03-29", 2, 30), "2026-03-29T01:00:00Z"); // skipped: the jump
    CHECK_EQ(wall("2026-03-29", 3, 0), "2026-03-29T01:00:00Z");
    CHECK_EQ(wall("2026-10-25", 2, 30), "2026-10-25T00:30:00Z"); // twice: the first
    CHECK_EQ(wall("2026-10-25", 3, 0), "2026-10-25T02:00:00Z");
    CHECK_EQ(zone.to_local(*parse_iso8601("2026-08-22T12:00:00Z")).weekday(), 5); // a Saturday
}
