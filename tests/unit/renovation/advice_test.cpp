#include "rig.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

struct Lawn {
    double left_pct = 50;
    garden::Traffic traffic = garden::Traffic::low;
    bool instant = false;
    double slope_pct = 1;
    Date start = day(2026, 8, 22);
};

Advice advice_for(const Lawn& lawn) {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, lawn.start)});
    garden::Zone& zone = garden.zones[0];
    zone.old_lawn = {lawn.left_pct, lawn.traffic, lawn.instant};
    zone.slope_pct = lawn.slope_pct;
    garden.renovation.water_price_per_m3 = 2.5;
    const Plan plan = plan_dates(garden, {});
    REQUIRE(plan.zones[0].advice.has_value());
    return *plan.zones[0].advice;
}

} // namespace

TEST_CASE("about 30 % of good grass and more: overseed; less: start over") {
    // Common practice, no source.
    CHECK(advice_for({.left_pct = 30}).method == turf::Method::overseed);
    CHECK(advice_for({.left_pct = 29}).method == turf::Method::seed);
}

TEST_CASE("haste, steepness, traffic and the season speak for sod, each with its reason") {
    CHECK(advice_for({.left_pct = 80, .instant = true}).method == turf::Method::sod);
    CHECK(advice_for({.left_pct = 10, .slope_pct = 25}).method == turf::Method::sod);
    CHECK(advice_for({.left_pct = 10, .traffic = garden::Traffic::high}).method ==
          turf::Method::sod);
    CHECK(advice_for({.left_pct = 10, .start = day(2026, 9, 20)}).method == turf::Method::sod);
    // Standing turf holds seed on a slope and under feet.
    const Advice slope = advice_for({.left_pct = 60, .slope_pct = 25});
    CHECK(slope.method == turf::Method::overseed);
    CHECK_GE(slope.reasons.size(), 1);
    CHECK(advice_for({.left_pct = 60, .traffic = garden::Traffic::high}).method ==
          turf::Method::overseed);
}

TEST_CASE("the three ways are compared by water, cost and weeks; sod is the quickest") {
    const Advice advice = advice_for({.left_pct = 10});
    REQUIRE_EQ(advice.ways.size(), 3);
    const Way& seed = advice.ways[1];
    const Way& sod = advice.ways[2];
    CHECK(seed.method == turf::Method::seed);
    CHECK_LT(sod.weeks_to_first_mow.value(), seed.weeks_to_first_mow.value());
    CHECK_EQ(seed.water_cost.value(), doctest::Approx(seed.water_l / 1000 * 2.5));
    CHECK_EQ(seed.water_l, doctest::Approx(seed.water_mm * 100));
}

TEST_CASE("whether it is too late is asked of the way that is advised, not of the file's") {
    // The file lays sod in September, in time for sod: sowing on that day is not advised all the
    // same, for it is two weeks past the last good day to sow.
    const auto of_sod = [](Date start) {
        garden::Garden garden = garden_of({zone_of(turf::Method::sod, start)});
        garden.zones[0].old_lawn = {20.0, garden::Traffic::low, false};
        const Plan plan = plan_dates(garden, {});
        REQUIRE(plan.zones[0].advice.has_value());
        return *plan.zones[0].advice;
    };
    const auto says = [](const Advice& advice, const char* what) {
        for (const std::string& reason : advice.reasons)
            if (reason.find(what) != std::string::npos) return true;
        return false;
    };
    CHECK(of_sod(day(2026, 8, 22)).method == turf::Method::seed);
    const Advice september = of_sod(day(2026, 9, 6));
    CHECK(september.method == turf::Method::sod);
    CHECK(says(september, "too late in the season to sow"));
    // So late that sod would not root either: neither is advised for that day.
    const Advice october = of_sod(day(2026, 10, 20));
    CHECK(says(october, "wait for the next good season"));
    CHECK(says(of_sod(day(2026, 12, 5)), "dormant seed"));
    CHECK(says(of_sod(day(2026, 4, 20)), "late summer is better"));
    // Haste does not hide it.
    const Advice haste = advice_for({.left_pct = 10, .instant = true, .start = day(2026, 11, 10)});
    CHECK(haste.method == turf::Method::sod);
    CHECK(says(haste, "late for sod, too"));
}

TEST_CASE("overseeding reckons with a standing turf that is cut, and not with water in winter") {
    const Advice advice = advice_for({.left_pct = 60});
    const Way& overseed = advice.ways[0];
    const Way& seed = advice.ways[1];
    // Shade holds the seedlings back, by weeks and not by a winter.
    REQUIRE(overseed.weeks_to_first_mow.has_value());
    CHECK(*overseed.weeks_to_first_mow > *seed.weeks_to_first_mow);
    CHECK(*overseed.weeks_to_first_mow < *seed.weeks_to_first_mow + 5);
    // Sown so late that it is mown next year: no more than twice the water of this one.
    const Advice late = advice_for({.left_pct = 60, .start = day(2026, 9, 25)});
    CHECK(late.ways[1].weeks_to_first_mow.value() > 20);
    CHECK(late.ways[1].water_l < 2.5 * seed.water_l);
}

TEST_CASE("nothing is advised where nothing is said of the old lawn") {
    const garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    CHECK_FALSE(plan_dates(garden, {}).zones[0].advice.has_value());
}
