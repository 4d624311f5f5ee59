#include "rig.hpp"

#include "renovation/ical.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <string>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

const Event* find(const Plan& plan, const std::string& key) {
    for (const Event& event : plan.events)
        if (event.key == key) return &event;
    return nullptr;
}

Date date_of(const Plan& plan, const std::string& key) {
    const Event* const event = find(plan, key);
    REQUIRE_MESSAGE(event != nullptr, key);
    return event->day;
}

} // namespace

TEST_CASE("a sowing is counted back to the kill and forth to the taper") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.renovation.herbicide_wait_days = 10;
    garden.renovation.settle_days = 5;
    const Plan plan = plan_dates(garden, {});
    CHECK(date_of(plan, "sow") == day(2026, 8, 22));
    CHECK(date_of(plan, "soak") == day(2026, 8, 21));
    CHECK(date_of(plan, "till") == day(2026, 8, 17));
    CHECK(date_of(plan, "kill") == day(2026, 8, 7));
    CHECK(date_of(plan, "order") == day(2026, 8, 8));
    CHECK(date_of(plan, "latest") == day(2026, 8, 23));
    CHECK(date_of(plan, "frost_50") == day(2026, 10, 7));
    const char* const order[] = {"soil_test",   "kill",   "till",       "sow",
                                 "first_green", "all_up", "skip_water", "first_mow"};
    for (std::size_t i = 1; i < std::size(order); ++i)
        CHECK_MESSAGE(date_of(plan, order[i - 1]) < date_of(plan, order[i]), order[i]);
    CHECK(date_of(plan, "skip_water") == add_days(date_of(plan, "first_mow"), -1));
    const Event* const off = find(plan, "keep_off");
    CHECK(add_days(off->day, off->days) == date_of(plan, "first_mow"));
    CHECK(std::ranges::is_sorted(plan.events, {}, &Event::day));
}

TEST_CASE("no herbicide, no wait; sod and overseeding have dates of their own") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.renovation.herbicide_wait_days = 0;
    CHECK(find(plan_dates(garden, {}), "kill") == nullptr);

    garden.zones[0].establishment.method = turf::Method::sod;
    const Plan sod = plan_dates(garden, {});
    CHECK(date_of(sod, "lay") == day(2026, 8, 22));
    CHECK(find(sod, "sow") == nullptr);
    CHECK(date_of(sod, "tug_test") < date_of(sod, "first_mow"));
    // Two to three weeks off the grass: common practice, no source.
    CHECK_EQ(find(sod, "keep_off")->days, 21);

    garden.zones[0].establishment.method = turf::Method::overseed;
    const Plan overseed = plan_dates(garden, {});
    CHECK(find(overseed, "till") == nullptr);
    CHECK(date_of(overseed, "mow_old_turf") < date_of(overseed, "first_mow"));
}

TEST_CASE("cautions stand where herbicide, air, mains, local rules and digging come up") {
    const garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    const Plan plan = plan_dates(garden, {});
    const std::string text = report(plan);
    for (const char* word : {"label is the law", "Compressed air", "backflow", "mains electricity",
                             "local rules", "licensed", "phosphorus", "buried cables"})
        CHECK_MESSAGE(text.find(word) != std::string::npos, word);
    CHECK(find(plan, "kill")->text.find("label") != std::string::npos);
    CHECK(find(plan, "drain")->text.find("compressed air") != std::string::npos);
}

TEST_CASE("water until first mow: more for an uneven zone, less under straw, none of it negative") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    const double plain = plan_dates(garden, {}).zones[0].quantities.water_l;
    garden.zones[0].establishment.cover = turf::Cover::straw;
    const double straw = plan_dates(garden, {}).zones[0].quantities.water_l;
    garden.zones[0].distribution_uniformity = 0.45;
    const double uneven = plan_dates(garden, {}).zones[0].quantities.water_l;
    CHECK_LT(straw, plain);
    CHECK_GT(uneven, straw);
    CHECK_GT(straw, 0);
}

TEST_CASE("usual rain, where the record has it, spares water, and no more than a bed can hold") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.renovation.water_price_per_m3 = 2.0;
    std::vector<DailyAir> dry = record_of(2015, 3);
    CHECK_FALSE(plan_dates(garden, dry).zones[0].quantities.water_with_rain_l.has_value());
    const auto with_rain = [&](double each_fourth_day_mm) {
        std::vector<DailyAir> record = dry;
        for (std::size_t i = 0; i < record.size(); ++i)
            record[i].rain_mm = i % 4 == 0 ? each_fourth_day_mm : 0;
        return plan_dates(garden, record).zones[0].quantities;
    };
    const Quantities none = with_rain(0);
    const Quantities some = with_rain(4);
    const Quantities much = with_rain(8);
    const Quantities flood = with_rain(80);
    CHECK_EQ(none.water_with_rain_l.value(), doctest::Approx(none.water_l));
    CHECK_EQ(some.water_l, doctest::Approx(none.water_l)); // the sum without rain stays as it is
    CHECK_LT(some.water_with_rain_l.value(), none.water_l);
    CHECK_LT(much.water_with_rain_l.value(), some.water_with_rain_l.value());
    CHECK_EQ(flood.water_with_rain_l.value(), doctest::Approx(much.water_with_rain_l.value()));
    CHECK_GT(flood.water_with_rain_l.value(), 0.3 * none.water_l);
    CHECK_EQ(some.water_with_rain_cost.value(),
             doctest::Approx(some.water_with_rain_l.value() / 500));
    CHECK(report(plan_dates(garden, dry)).find("usual rain") == std::string::npos);
}

TEST_CASE("the dates of a running season take the place of the usual ones, in the calendar too") {
    const garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    const Plan usual = plan_dates(garden, {});
    const Date late = day(2026, 9, 20);
    LiveDates live;
    live.zone = "front";
    live.first_green = {day(2026, 8, 30), day(2026, 8, 30), day(2026, 8, 30)};
    live.all_up = {late, day(2026, 9, 16), day(2026, 9, 26)};
    live.first_mow = {day(2026, 10, 4), day(2026, 9, 30), std::nullopt};
    const std::vector<LiveDates> season{live};
    const Plan running = plan_dates(garden, {}, season);
    CHECK(date_of(running, "all_up") == late);
    CHECK(date_of(usual, "all_up") < late);
    CHECK(date_of(running, "skip_water") == day(2026, 10, 3));
    CHECK(find(running, "first_green")->text.find("As it came.") == 0);
    CHECK(find(running, "all_up")->text.find("As the season goes") == 0);
    CHECK(date_of(running, "sow") == date_of(usual, "sow"));
    const std::string text = ical(running, WallTime{std::chrono::sys_days{late}});
    CHECK(text.find("REFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n") != std::string::npos);
    CHECK(text.find("DTSTAMP:20260920T000000Z") != std::string::npos);
    CHECK(ical(usual).find("REFRESH-INTERVAL") == std::string::npos);
    // Another zone's season is none of this one's business.
    live.zone = "back";
    const std::vector<LiveDates> other{live};
    CHECK(date_of(plan_dates(garden, {}, other), "all_up") == date_of(usual, "all_up"));
}

TEST_CASE("a planned date has a range of weather and of seed around it") {
    const garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    const Milestones& m = plan_dates(garden, {}).zones[0].milestones;
    for (const Milestone& one : {m.first_green, m.all_up, m.first_mow}) {
        REQUIRE(one.late.has_value());
        CHECK(*one.early < *one.usual);
        CHECK(*one.usual < *one.late);
    }
    CHECK_LE(days_between(*m.first_green.early, *m.first_green.late), 12);
    CHECK_LE(days_between(*m.all_up.early, *m.all_up.late), 30);
}

TEST_CASE("the report speaks the units of the site and fits a terminal") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22)),
                                       zone_of(turf::Method::sod, day(2026, 9, 1))});
    garden.zones[0].old_lawn.desirable_grass_pct = 20;
    const std::string metric = report(plan(garden, TimeZone(), {}));
    CHECK(metric.find("g/m2") != std::string::npos);
    CHECK(metric.find("lb/1000 ft2") == std::string::npos);
    garden.site.units = garden::Units::us;
    const std::string us = report(plan(garden, TimeZone(), {}));
    CHECK(us.find("lb/1000 ft2") != std::string::npos);
    CHECK(us.find("g/m2") == std::string::npos);
    for (const std::string& text : {metric, us}) {
        std::size_t begin = 0;
        while (begin < text.size()) {
            const std::size_t end = std::min(text.find('\n', begin), text.size());
            CHECK_LE(end - begin, 100);
            begin = end + 1;
        }
    }
}

TEST_CASE("a garden with nothing to establish has nothing to plan") {
    garden::Garden garden = garden_of({zone_of(turf::Method::none, day(2026, 8, 22))});
    const Plan none = plan(garden, TimeZone(), {});
    CHECK(none.events.empty());
    CHECK_FALSE(none.feasibility.has_value());
    CHECK(report(none).find("nothing to plan") != std::string::npos);
}

TEST_CASE("any start of any method is planned, in the north, in the south and at the pole") {
    for (const double latitude : {64.0, 42.0, 5.0, -36.0, 85.0})
        for (int month = 1; month <= 12; ++month)
            for (const turf::Method method :
                 {turf::Method::seed, turf::Method::overseed, turf::Method::sod}) {
                garden::Garden garden =
                    garden_of({zone_of(method, day(2028, static_cast<unsigned>(month), 1))});
                garden.site.place.latitude_deg = latitude;
                const Plan plan = plan_dates(garden, {});
                CHECK_FALSE(plan.zones[0].timing.sentences.empty());
                CHECK_GT(plan.events.size(), 5);
                for (const Event& event : plan.events) {
                    CHECK(event.day.ok());
                    CHECK_GE(event.days, 1);
                }
            }
}
