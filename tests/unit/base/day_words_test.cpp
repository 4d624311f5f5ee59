#include "base/day_words.hpp"

#include <doctest/doctest.h>

using namespace firstmow;

TEST_CASE("day words: weekday, day and month as in a calendar, the year where it is asked for") {
    const auto date = [](const char* text) { return parse_date(text).value(); };
    CHECK_EQ(day_words(date("2026-09-15")), "Tue 15 Sep");
    CHECK_EQ(day_words(date("2028-02-29")), "Tue 29 Feb"); // a leap year
    CHECK_EQ(day_words(date("2026-11-01")), "Sun 1 Nov");
    CHECK_EQ(day_month_words(date("2027-05-31")), "31 May");
    CHECK_EQ(date_words(date("2026-12-31")), "31 Dec 2026");
    CHECK_EQ(weekday_words(0), "Mon");
    CHECK_EQ(weekday_words(6), "Sun");
}
