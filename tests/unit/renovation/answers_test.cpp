// What an owner tries, and what becomes of it in the plan.
#include "rig.hpp"

#include "renovation/answers.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

garden::Garden two_zones() {
    garden::Zone back = zone_of(turf::Method::none, day(2026, 8, 22));
    back.id = "back";
    back.name = "Back lawn";
    back.establishment.start.reset();
    back.establishment.mix.clear();
    return garden_of({zone_of(turf::Method::seed, day(2026, 8, 22)), back});
}

garden::Garden tried(const Answers& answers) {
    auto garden = with_answers(two_zones(), answers);
    REQUIRE(garden.ok());
    return std::move(garden).value();
}

std::string refused(const Answers& answers) {
    const auto garden = with_answers(two_zones(), answers);
    REQUIRE_FALSE(garden.ok());
    return garden.error().message;
}

} // namespace

TEST_CASE("no answer leaves the garden as it is; each stands in the place of the file's") {
    const garden::Garden same = tried({});
    CHECK(same.zones[0].establishment.start == day(2026, 8, 22));
    CHECK(same.site.first_frost == std::chrono::October / 7);

    Answers answers;
    answers.zone = "front";
    answers.units = garden::Units::us;
    answers.first_frost = std::chrono::September / 20;
    answers.grass_left_pct = 45;
    answers.traffic = garden::Traffic::high;
    answers.slope_pct = 12;
    answers.instant = true;
    answers.method = turf::Method::sod;
    answers.start = day(2026, 9, 1);
    const garden::Garden other = tried(answers);
    const garden::Zone& front = other.zones[0];
    CHECK(other.site.units == garden::Units::us);
    CHECK(other.site.first_frost == std::chrono::September / 20);
    CHECK(front.old_lawn.desirable_grass_pct == 45);
    CHECK(front.old_lawn.traffic == garden::Traffic::high);
    CHECK(front.old_lawn.instant == true);
    CHECK(front.slope_pct == 12);
    CHECK(front.establishment.method == turf::Method::sod);
    CHECK(front.establishment.start == day(2026, 9, 1));
    CHECK(other.zones[1].establishment.method == turf::Method::none);
}

TEST_CASE(
    "another mix is sown at its own rate, comes up in its own time, and is mown at its height") {
    Answers answers;
    answers.zone = "front";
    const garden::Garden blue = tried(answers);
    const Plan before = plan_dates(blue, {});
    answers.mix = parse_mix("perennial_ryegrass").value();
    const garden::Garden rye = tried(answers);
    const Plan after = plan_dates(rye, {});
    REQUIRE_EQ(after.zones[0].quantities.seed.size(), 1);
    CHECK(after.zones[0].quantities.seed[0].species == turf::Species::perennial_ryegrass);
    // Ryegrass is sown at three times the weight of bluegrass (2 to 3 beside 6 to 9 lb/1000 ft2,
    // UC IPM) and is up in half the time.
    CHECK(after.zones[0].quantities.rate_g_per_m2 > 2 * before.zones[0].quantities.rate_g_per_m2);
    CHECK(*after.zones[0].milestones.all_up.usual < *before.zones[0].milestones.all_up.usual);

    // Only the share of the sum counts.
    answers.mix = parse_mix("kentucky_bluegrass:3,perennial_ryegrass:1").value();
    const garden::Garden both = tried(answers);
    REQUIRE_EQ(both.zones[0].establishment.mix.size(), 2);
    CHECK(both.zones[0].establishment.mix[0].share == doctest::Approx(0.75));
    CHECK(both.zones[0].establishment.mix[1].share == doctest::Approx(0.25));
    CHECK(both.zones[1].establishment.mix.empty());
}

TEST_CASE("a mix that cannot be is refused with what would be right") {
    const auto wrong = [](const char* text) {
        const auto mix = parse_mix(text);
        REQUIRE_FALSE(mix.ok());
        return mix.error().message;
    };
    for (const char* text :
         {"moss", "tall_fescue:", "tall_fescue:0", "tall_fescue:-1", "tall_fescue:nan",
          "tall_fescue:1001", ",tall_fescue", "tall_fescue:1,tall_fescue:2", "tall_fescue 80"}) {
        CAPTURE(text);
        CHECK(wrong(text).find("such as tall_fescue:85,kentucky_bluegrass:15, would be right") !=
              std::string::npos);
    }
    CHECK(wrong("") == "names no species; tall_fescue would be right");
    CHECK(wrong("tall_fescue:1000,fine_fescue:0.5").find("thousandth") != std::string::npos);
    CHECK_EQ(parse_mix("tall_fescue:999,fine_fescue:1")->size(), 2);
}

TEST_CASE("a price that is tried stands beside every litre, and nowhere without one") {
    Answers answers;
    const garden::Garden free = tried(answers);
    CHECK_FALSE(plan_dates(free, {}).zones[0].quantities.water_cost);
    answers.water_price_per_m3 = 2.5; // of the garden: no zone need be named
    const garden::Garden priced = tried(answers);
    const Quantities water = plan_dates(priced, {}).zones[0].quantities;
    CHECK(*water.water_cost == doctest::Approx(water.water_l / 1000 * 2.5));
}

TEST_CASE("a grown-in lawn is planned for once a day is given") {
    Answers answers;
    answers.zone = "back";
    answers.grass_left_pct = 40;
    CHECK(refused(answers).find("grown-in lawn; give the day") != std::string::npos);
    answers.start = day(2026, 8, 20);
    const garden::Garden garden = tried(answers);
    CHECK(garden.zones[1].establishment.method == turf::Method::seed);
    const Plan plan = plan_dates(garden, {});
    REQUIRE_EQ(plan.zones.size(), 2);
    REQUIRE(plan.zones[1].advice.has_value());
    CHECK(plan.zones[1].advice->method == turf::Method::overseed);
    CHECK_FALSE(shopping_words(plan, plan.zones[1]).empty());
    CHECK_EQ(plan.zones[1].quantities.seed.size(), 1);
    // A method alone does not say when.
    answers.start.reset();
    answers.method = turf::Method::overseed;
    CHECK(refused(answers).find("has no day of sowing or laying") != std::string::npos);
}

TEST_CASE("several zones: whose answers they are must be said, and be so") {
    Answers answers;
    answers.slope_pct = 3;
    CHECK(refused(answers).find("say whose answers these are, as zone=front") != std::string::npos);
    answers.zone = "nowhere";
    CHECK(refused(answers) == "the garden has no zone 'nowhere'");
    garden::Garden one = two_zones();
    one.zones.pop_back();
    answers.zone.clear();
    CHECK(with_answers(one, answers)->zones[0].slope_pct == 3);
}

TEST_CASE("a frost date that is tried goes before the record") {
    const std::vector<DailyAir> record = record_of(1990, 20);
    garden::Garden garden = two_zones();
    garden.site.first_frost = std::chrono::September / 10;
    const Plan usual = plan_dates(garden, record);
    CHECK_EQ(usual.zones[0].timing.frost.years, 20);
    const Plan tried = plan_dates(garden, record, {}, FrostFrom::typical_date);
    CHECK_EQ(tried.zones[0].timing.frost.years, 0);
    CHECK(tried.zones[0].timing.frost.in_50_pct == day(2026, 9, 10));
    CHECK(tried.climate.from_record); // the course of the year still is
    CHECK(tried.zones[0].timing.verdict == Verdict::too_late);
}

TEST_CASE("the sentences of the plan speak the units of the site, and of every zone") {
    garden::Garden garden = two_zones();
    garden.renovation.water_price_per_m3 = 2.5;
    const Plan plan = renovation::plan(garden, TimeZone(), {});
    const auto tap = tap_words(plan);
    REQUIRE(tap.has_value());
    CHECK(tap->demand.find("L/min") != std::string::npos);
    CHECK_EQ(tap->zones.size(), 1);
    CHECK(tap->zones[0].find("Front lawn: ") == 0);
    CHECK(tap->remedies.empty() == plan.feasibility->as_is.holds());
    garden.site.units = garden::Units::us;
    const Plan us = plan_dates(garden, {});
    CHECK_FALSE(tap_words(us).has_value());
    bool pounds = false;
    for (const std::string& line : shopping_words(us, us.zones[0]))
        pounds = pounds || line.find("lb/1000 ft2") != std::string::npos;
    CHECK(pounds);
    CHECK_EQ(frost_words(us).size(), 2);
    CHECK(frost_words(us)[0].find("First frost: 7 Oct 2026") == 0);
}
