#include "rig.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::renovation;

TEST_CASE("a record is read, with gaps, empty fields and either line ending") {
    const auto record = read_record("date,min_temp_c,max_temp_c\r\n2020-09-30,1.5,14\r\n"
                                    "2020-10-02,,12\n2020-10-03,-0.5,\n");
    REQUIRE(record.ok());
    REQUIRE_EQ(record->size(), 3);
    CHECK_EQ((*record)[0].min_c.value(), 1.5);
    CHECK_FALSE((*record)[1].min_c.has_value());
    CHECK_FALSE((*record)[2].max_c.has_value());
    CHECK(read_record("date,min_temp_c\n2020-09-30,1.5\n").ok());
    CHECK(read_record("date,min_temp_c\n").ok());
}

TEST_CASE("what is wrong with a record is said with its line") {
    struct Case {
        const char* text;
        const char* message;
    };
    const Case cases[] = {
        {"", "line 1: the header"},
        {"day,low\n", "line 1: the header"},
        {"date,min_temp_c\n2020-02-30,1\n", "line 2: "},
        {"date,min_temp_c\n2020-02-20\n", "line 2: it has 1 fields; 2"},
        {"date,min_temp_c\n2020-02-20,cold\n", "line 2: a temperature is no number"},
        {"date,min_temp_c\n2020-02-20,nan\n", "line 2: a temperature is no number"},
        {"date,min_temp_c\n2020-02-20,99\n", "line 2: a temperature is no number"},
        {"date,min_temp_c\n2020-02-20,1\n2020-02-20,1\n", "line 3: the day does not follow"},
        {"date,min_temp_c,max_temp_c\n2020-02-20,5,1\n", "line 2: the maximum is below"},
    };
    for (const Case& c : cases) {
        CAPTURE(c.text);
        const auto record = read_record(c.text);
        REQUIRE_FALSE(record.ok());
        CHECK_MESSAGE(record.error().message.starts_with(c.message), record.error().message);
    }
}

TEST_CASE("seasons of frost begin on 1 July, in the south on 1 January") {
    CHECK(season_start(day(2026, 7, 1), false) == day(2026, 7, 1));
    CHECK(season_start(day(2026, 6, 30), false) == day(2025, 7, 1));
    CHECK(season_start(day(2026, 6, 30), true) == day(2026, 1, 1));
}

TEST_CASE("first freezes are found season by season; a season with holes does not count") {
    std::vector<DailyAir> record;
    const auto fill = [&](Date from, Date to, double min_c) {
        for (Date date = from; date < to; date = add_days(date, 1))
            record.push_back({date, min_c, std::nullopt});
    };
    fill(day(2020, 7, 1), day(2020, 10, 10), 8);
    record.push_back({day(2020, 10, 10), 0.0, std::nullopt}); // 0 deg C is a freeze
    fill(day(2020, 10, 11), day(2021, 7, 1), -3);
    fill(day(2021, 7, 1), day(2022, 7, 1), 8);   // a year without
    fill(day(2022, 9, 15), day(2022, 10, 1), 8); // July to mid-September are missing
    fill(day(2022, 10, 1), day(2022, 10, 3), -1);
    const FirstFreezes found = first_freezes(record, false);
    REQUIRE_EQ(found.days.size(), 1);
    CHECK_EQ(found.days[0], days_between(day(2020, 7, 1), day(2020, 10, 10)));
    CHECK_EQ(found.years_without, 1);
    CHECK_EQ(found.years_skipped, 1);
}

TEST_CASE("a record gives the usual year and the frost dates that follow from it") {
    const std::vector<DailyAir> record = record_of(2005, 20);
    const Climate climate = climate_of({42, -93, 290}, record);
    CHECK(climate.from_record);
    // The cosine has its top, 4 + 14 + 5.5, in mid-July; shifts and smoothing take a little.
    CHECK_EQ(climate.mean_on(day(2026, 7, 16)), doctest::Approx(23.5).epsilon(0.02));
    const garden::Garden garden = garden_of({});
    const FrostOutlook frost =
        frost_outlook(garden, first_freezes(record, false), day(2026, 8, 22));
    REQUIRE(frost.in_10_pct.has_value());
    CHECK(*frost.in_10_pct < *frost.in_50_pct);
    CHECK(*frost.in_50_pct < *frost.in_90_pct);
    // 4 - 14 cos = 0 on day 15 + 365 - 74, about 2 November; the shifts are -6 to 6 days.
    CHECK_LE(std::abs(days_between(day(2026, 11, 2), *frost.in_50_pct)), 3);
    CHECK(frost.counted_from() == frost.in_10_pct);
}

TEST_CASE("without a record the year is a rule of thumb, with a wider range") {
    const Climate climate = climate_of({42, -93, 290}, {});
    CHECK_FALSE(climate.from_record);
    CHECK_GT(climate.spread_c, climate_of({42, -93, 290}, record_of(2005, 20)).spread_c);
    CHECK_GT(climate.mean_on(day(2026, 7, 20)), climate.mean_on(day(2026, 1, 20)) + 15);
    const Climate south = climate_of({-36, 175, 20}, {});
    CHECK_LT(south.mean_on(day(2026, 7, 20)), south.mean_on(day(2026, 1, 20)) - 10);
}
