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
