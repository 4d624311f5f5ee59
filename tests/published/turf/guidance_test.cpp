// What extension services say of watering, rooting and mowing young grass, beside what a phase asks
// here. Where ours differs from a rule, the test says by how much and why.
#include "turf/growth.hpp"
#include "turf/mowing.hpp"
#include "turf/stand.hpp"
#include "turf/thermal_time.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace firstmow;
using namespace firstmow::turf;

namespace {

constexpr Seconds kHour{3600};
constexpr Seconds kDay{86400};
constexpr double kInch = 25.4;
const WallTime kStart = wall_from_unix(1'787'000'400);

struct Lawn {
    Progress progress;
    WallTime now = kStart;
    Lawn(Method method, Species species) : progress(begin(method, {{species, 1}}, kStart)) {}
    void pass(Seconds span, double temp_c = 20) {
        for (const WallTime end = now + span; now < end;) {
            now += kHour;
            advance(progress, temp_c, -30, kHour, now);
        }
    }
    Needs asks() const { return needs(progress, now); }
    double gap_h() const { return static_cast<double>(asks().longest_gap.count()) / 3600; }
};

} // namespace

TEST_CASE("seedbed: the top half inch to inch is kept moist until all are up") {
    // NC State: top 1/2 in moist. Iowa State: top 1 in. Ours wets one inch, and lets the seed zone
    // fall to -100 kPa, half of the -200 kPa that is the wetter end of what the phase model allows.
    Lawn lawn(Method::seed, Species::kentucky_bluegrass);
    while (!lawn.progress.all_up) {
        CHECK(lawn.asks().wet_depth_mm >= kInch / 2);
        CHECK(lawn.asks().wet_depth_mm <= kInch);
        CHECK(lawn.asks().threshold_kpa >= -200);
        CHECK_FALSE(lawn.asks().judge_root_zone);
        lawn.pass(6 * kHour);
    }
}

TEST_CASE("no water late: leaves dry before the night") {
    // Missouri: early morning, not at night; the rule set here: the last run ends 2-3 h before
    // sunset, in every phase.
    Lawn lawn(Method::seed, Species::perennial_ryegrass);
    for (int day = 0; day < 120; day += 5) {
        CHECK(lawn.asks().before_sunset >= 2 * kHour);
        CHECK(lawn.asks().before_sunset <= 3 * kHour);
        lawn.pass(5 * kDay);
    }
}

TEST_CASE("taper: twice a day, once a day, then every second or third day, ever deeper") {
    // Nebraska: two a day in the week after it is up, one a day in the next; Iowa State: taper when
    // seedlings stand at 1-2 in; then deep and rare. Ours is the longest gap that may be,
    // thresholds may ask sooner: 12 h when all are up, 24 h at the first mow, 72 h when grown in.
    Lawn lawn(Method::seed, Species::perennial_ryegrass);
    while (!lawn.progress.all_up)
        lawn.pass(kHour);
    CHECK_EQ(lawn.gap_h(), doctest::Approx(12).epsilon(0.05));
    lawn.pass(7 * kDay);
    CHECK(lawn.gap_h() > 12);
    CHECK(lawn.gap_h() < 24);
    while (!ready_for_first_mow(lawn.progress))
        lawn.pass(kHour);
    CHECK_EQ(lawn.gap_h(), doctest::Approx(24).epsilon(0.05));
    CHECK(lawn.asks().wet_depth_mm > 2 * kInch);
    observe(lawn.progress, ObservationKind::first_mow, lawn.now);
    double before = lawn.gap_h();
    double depth = lawn.asks().wet_depth_mm;
    int days_to_every_second = 0;
    for (int day = 0; lawn.progress.phase == Phase::post_first_mow; ++day) {
        REQUIRE(day < 90);
        lawn.pass(kDay);
        if (lawn.progress.phase != Phase::post_first_mow) break;
        CHECK(lawn.gap_h() >= before);
        CHECK(lawn.asks().wet_depth_mm >= depth);
        before = lawn.gap_h();
        depth = lawn.asks().wet_depth_mm;
        if (before < 48) days_to_every_second = day + 1;
    }
    CHECK(days_to_every_second >= 14); // general extension: over 3-4 mowings
    CHECK(days_to_every_second <= 35);
    // FAO-56 Table 22: p = 0.40 for cool-season turf, 0.50 for warm-season.
    CHECK_EQ(lawn.asks().allowed_depletion, doctest::Approx(0.4));
    CHECK_EQ(needs(begin(Method::none, {{Species::bermudagrass, 1}}, {}), {}).allowed_depletion,
             0.5);
    CHECK_EQ(lawn.asks().wet_depth_mm, doctest::Approx(150)); // net to refill 150 mm of roots
}

TEST_CASE("sod: soaked to 3-4 in at laying, daily for two weeks, then every second and third day") {
    // Extension services: soil wet to 3-4 in within half an hour; daily in weeks 1 and 2 (a Florida
    // plant-doctor service: every second day in week 2, every third in week 3, then as needed).
    Lawn sod(Method::sod, Species::kentucky_bluegrass);
    CHECK(sod.asks().wet_depth_mm >= 3 * kInch);
    CHECK(sod.asks().wet_depth_mm <= 4 * kInch);
    CHECK(sod.asks().threshold_kpa > -100); // cut roots bear less than seed does
    sod.pass(7 * kDay);
    CHECK(sod.gap_h() < 24);
    CHECK(sod.asks().wet_depth_mm < 3 * kInch);
    sod.pass(7 * kDay);
    // Rooted after 14 good days, the late end of 10-14; ours goes from daily to every third day
    // over the four weeks after it, a week later than Florida's plan, because roots grow 7 mm a
    // day.
    CHECK(ready_for_first_mow(sod.progress));
    CHECK_EQ(sod.gap_h(), doctest::Approx(24).epsilon(0.05));
    observe(sod.progress, ObservationKind::rooted, sod.now);
    sod.pass(14 * kDay);
    CHECK(sod.gap_h() > 36);
    CHECK(sod.gap_h() < 60);
    sod.pass(14 * kDay);
    CHECK(sod.progress.phase == Phase::mature);
    // common practice, no source: off-limits for two to three weeks.
    CHECK_EQ(kKeepOffSodDays, 21);
}

TEST_CASE("first mow heights: cut at a third above the height, never more than that third") {
    // K-State: mow tall fescue at 3-4 in for the first time; one-third rule. Ours, 3 in kept: 4 in.
    CHECK_EQ(mow_height_mm({{Species::tall_fescue, 1}}) / kInch, doctest::Approx(3));
    Lawn fescue(Method::seed, Species::tall_fescue);
    const MowAdvice advice = mow_advice(fescue.progress);
    CHECK_EQ(advice.when_tall_mm / kInch, doctest::Approx(4).epsilon(0.01));
    CHECK((advice.when_tall_mm - advice.cut_to_mm) / advice.when_tall_mm < 1.0 / 3);
    // From memory: bluegrass 2.5-3.5 in, ryegrass 2-3, bentgrass 0.25-0.75.
    CHECK_EQ(
        mow_height_mm({{Species::kentucky_bluegrass, 0.6}, {Species::perennial_ryegrass, 0.4}}) /
            kInch,
        doctest::Approx(2.5));
    for (const SpeciesTraits& kind : all_species())
        CHECK(kind.mow_low_mm < kind.mow_high_mm);
}

TEST_CASE("roots: ryegrass before tall fescue before bluegrass (Kim 2015)") {
    const auto roots_mm = [](Species species) {
        Lawn lawn(Method::seed, species);
        lawn.pass(22 * kDay, 19);
        return lawn.progress.root_depth_mm;
    };
    CHECK(roots_mm(Species::perennial_ryegrass) > roots_mm(Species::tall_fescue));
    CHECK(roots_mm(Species::tall_fescue) > roots_mm(Species::kentucky_bluegrass));
}

TEST_CASE(
    "heat: shoots best at 60-75 F, none at 90; roots best at 50-65 F, none at 77 (NC State)") {
    const auto c = [](double f) { return (f - 32) / 1.8; };
    CHECK_EQ(growth_cd_per_day(false, c(90)), doctest::Approx(0).epsilon(1e-3));
    CHECK(growth_cd_per_day(false, c(75)) > 0.95 * growth_cd_per_day(false, c(73)));
    const SpeciesTraits& blue = traits(Species::kentucky_bluegrass);
    CHECK_EQ(root_rate(blue, c(65)), doctest::Approx(1).epsilon(0.01));
    // At 77 F ours leaves a quarter where NC State has none: theirs is of standing turf, and seed
    // sown in a warm August does root. None is left at 90 F.
    CHECK_EQ(root_rate(blue, c(77)), doctest::Approx(0.25).epsilon(0.01));
    CHECK_EQ(root_rate(blue, c(90)), doctest::Approx(0).epsilon(1e-3));
}

TEST_CASE("germinating seedlings can die within a few hours (NC State), seed before that cannot") {
    // In danger: from 0.6 of the way to half the radicles until all are up.
    Lawn lawn(Method::seed, Species::perennial_ryegrass);
    while (danger_of(lawn.progress.species[0]) == Danger::imbibing)
        lawn.pass(kHour);
    CHECK_EQ(own_tau(lawn.progress.species[0]), doctest::Approx(0.6).epsilon(0.05));
    while (!lawn.progress.all_up)
        lawn.pass(kHour);
    CHECK_EQ(own_tau(lawn.progress.species[0]), doctest::Approx(2.5).epsilon(0.02));
    CHECK(std::log(2.0) / death_rate_per_h(-1500) > 2);
    CHECK(std::log(2.0) / death_rate_per_h(-1500) < 6);
}

TEST_CASE("a lot: first green at one in fifteen, all up at nine tenths") {
    const SpeciesTraits& rye = traits(Species::perennial_ryegrass);
    CHECK_EQ(lot_share(first_green_tau(rye), rye.emergence_factor),
             doctest::Approx(1.0 / 15).epsilon(0.1));
    CHECK_EQ(lot_share(rye.emergence_factor, rye.emergence_factor), doctest::Approx(0.5));
    CHECK_EQ(lot_share(all_up_tau(rye), rye.emergence_factor), doctest::Approx(0.9).epsilon(0.01));
}
