// Who dies when the bed dries, and who is washed away.
#include "turf/stand.hpp"

#include "turf/growth.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace firstmow;
using namespace firstmow::turf;

namespace {

constexpr Seconds kStep{300};
constexpr Seconds kHour{3600};
constexpr Seconds kDay{86400};
const WallTime kStart = wall_from_unix(1'787'000'400);

const std::vector<MixShare> kMix{{Species::kentucky_bluegrass, 0.6},
                                 {Species::perennial_ryegrass, 0.4}};

struct Bed20 {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;

    void pass(Seconds span, double driest_kpa = -30, double mean_kpa = -30) {
        for (const WallTime end = now + span; now < end;) {
            now += kStep;
            advance(progress, Bed{20, driest_kpa, mean_kpa, 0}, kStep, now);
        }
    }
    const SpeciesProgress& blue() const { return progress.species[0]; }
    const SpeciesProgress& rye() const { return progress.species[1]; }
};

double lost_in_three_hours(Seconds age, double kpa) {
    Bed20 bed;
    bed.pass(age);
    bed.pass(3 * kHour, kpa, kpa);
    return 1 - stand_of(bed.progress).alive;
}

} // namespace

TEST_CASE("a dry day costs imbibing seed nothing but the day (Allen, White and Markhart 1993)") {
    Bed20 bed;
    bed.pass(kDay);
    CHECK(danger_of(bed.rye()) == Danger::imbibing);
    bed.pass(kDay, -10'000, -10'000);
    CHECK_EQ(stand_of(bed.progress).alive, 1);
    CHECK(danger_of(bed.rye()) == Danger::imbibing);
}

TEST_CASE("with the radicle out, hours of drought kill: half in four at the wilting point") {
    CHECK_EQ(death_rate_per_h(-100), 0);
    CHECK_EQ(death_rate_per_h(-300), 0);
    CHECK_EQ(death_rate_per_h(-1500), doctest::Approx(std::log(2.0) / 4));
    for (double kpa = -300; kpa > -20'000; kpa -= 100)
        CHECK(death_rate_per_h(kpa - 100) > death_rate_per_h(kpa));
    Bed20 bed;
    bed.pass(kDay * 5); // all of the ryegrass has its radicle out, none is up
    CHECK(danger_of(bed.rye()) == Danger::radicle_out);
    CHECK(danger_of(bed.blue()) == Danger::radicle_out); // the quickest of it may be
    bed.pass(4 * kHour, -1500, -1500);
    CHECK_EQ(stand_of(bed.rye()), doctest::Approx(0.5).epsilon(0.08)); // the slowest hid
    CHECK(stand_of(bed.blue()) > 0.98);                                // most had none to lose
    bed.pass(kDay * 20);
    CHECK_EQ(up_share(bed.rye()), doctest::Approx(stand_of(bed.rye())));
}

TEST_CASE("a drought of three hours costs more the drier, and most between radicle and roots") {
    double before = 0;
    for (const double kpa : {-200.0, -400.0, -800.0, -1500.0, -5000.0}) {
        const double lost = lost_in_three_hours(kDay * 9, kpa);
        CHECK(lost >= before);
        before = lost;
    }
    // Bluegrass and ryegrass together, days after sowing at 20 deg C.
    CHECK_EQ(lost_in_three_hours(kDay * 2, -1500), 0);
    CHECK(lost_in_three_hours(kDay * 8, -1500) > 0.25);
    CHECK(lost_in_three_hours(kDay * 8, -1500) < 0.45);
    CHECK(lost_in_three_hours(kDay * 14, -1500) < 0.3); // the ryegrass has 40 mm of roots
    CHECK_EQ(lost_in_three_hours(kDay * 30, -1500), 0);
}

TEST_CASE("what dries in the driest quarter is lost there") {
    Bed20 bed;
    bed.pass(kDay * 9);
    bed.pass(3 * kHour, -2000, -150);
    const Stand stand = stand_of(bed.progress);
    CHECK(stand.alive_driest_quarter < 0.75);
    CHECK_EQ(1 - stand.alive, doctest::Approx(0.25 * (1 - stand.alive_driest_quarter)));
}

TEST_CASE("loose seed is washed down a slope, less under straw, not once it is rooted") {
    CHECK_EQ(washed_share(0, 10, Cover::none), 0);
    CHECK_EQ(washed_share(10, 0, Cover::none), 0);
    CHECK_EQ(washed_share(10, 5, Cover::none), doctest::Approx(0.1));
    CHECK(washed_share(10, 10, Cover::none) > washed_share(10, 5, Cover::none));
    CHECK_EQ(washed_share(10, 5, Cover::straw), doctest::Approx(0.02));
    CHECK_EQ(washed_share(1e6, 90, Cover::none), 1);
    Bed20 bed;
    bed.pass(kDay);
    advance(bed.progress, Bed{20, 0, 0, 0.1}, kStep, bed.now + kStep);
    CHECK_EQ(stand_of(bed.progress).alive, doctest::Approx(0.9));
    bed.pass(kDay * 40);
    const double before = stand_of(bed.progress).alive;
    advance(bed.progress, Bed{20, 0, 0, 0.1}, kStep, bed.now + kStep);
    CHECK_EQ(stand_of(bed.progress).alive, before);
}

TEST_CASE("a thin stand closes later") {
    Bed20 whole;
    Bed20 thin;
    whole.pass(kDay * 7);
    thin.pass(kDay * 7);
    thin.pass(kDay, -3000, -3000);
    whole.pass(kDay);
    CHECK(stand_of(thin.progress).alive < 0.7);
    whole.pass(kDay * 20);
    thin.pass(kDay * 20);
    CHECK(thin.progress.cover_fraction < 0.9 * whole.progress.cover_fraction);
}

TEST_CASE("turf and sod have no stand to lose") {
    CHECK_EQ(stand_of(begin(Method::sod, {{Species::tall_fescue, 1}}, kStart)).alive, 1);
    CHECK_EQ(stand_of(begin(Method::none, {}, kStart)).alive_driest_quarter, 1);
}

TEST_CASE("standing turf grows between the seedlings, shades them and is mown lightly") {
    CHECK_EQ(light_share(kStandingTurfCover), 1);
    CHECK(light_share(kStandingTurfMost) < 0.6);
    const auto pass = [](Progress& progress, WallTime& now, int days) {
        for (const WallTime end = now + kDay * days; now < end;) {
            now += kHour;
            advance(progress, 20, -30, kHour, now);
        }
    };
    Progress left = begin(Method::overseed, {{Species::perennial_ryegrass, 1}}, kStart);
    WallTime now = kStart;
    CHECK_FALSE(standing_turf_wants_cut(left));
    pass(left, now, 8);
    CHECK(standing_turf_wants_cut(left));
    CHECK(left.cover_fraction > kStandingTurfCover);
    Progress cut = left;
    observe(cut, ObservationKind::mown, now);
    CHECK(cut.last_mown == now);
    CHECK_FALSE(standing_turf_wants_cut(cut));
    CHECK(cut.cover_fraction < left.cover_fraction);
    // Reported as a first mow while seedlings come up, it is the standing turf's all the same.
    Progress other = left;
    observe(other, ObservationKind::first_mow, now);
    CHECK(other == cut);
    CHECK_FALSE(other.first_mow.has_value());
    WallTime then = now;
    pass(left, now, 20);
    for (int week = 0; week < 2; ++week) {
        pass(cut, then, 7);
        observe(cut, ObservationKind::mown, then);
        CHECK_FALSE(cut.first_mow.has_value());
    }
    pass(cut, then, 6);
    CHECK(cut.species[0].growth_cd > 1.1 * left.species[0].growth_cd); // light came to it
    // With the new grass grown, a mow is its first.
    pass(cut, then, 3);
    CHECK(ready_for_first_mow(cut));
    const auto change = observe(cut, ObservationKind::mown, then);
    CHECK(cut.first_mow == then);
    CHECK(change.has_value());
    CHECK_FALSE(ready_for_first_mow(cut));
}

TEST_CASE("seed that lies too cold waits without water until the soil warms") {
    Progress progress = begin(Method::seed, {{Species::kentucky_bluegrass, 1}}, kStart);
    WallTime now = kStart;
    const auto pass = [&](int days, double temp_c) {
        for (const WallTime end = now + kDay * days; now < end;) {
            now += kHour;
            advance(progress, temp_c, -30, kHour, now);
        }
    };
    CHECK_EQ(needs(progress, now).threshold_kpa, -100);
    pass(10, 2);
    CHECK(needs(progress, now).threshold_kpa == doctest::Approx(-1500));
    pass(90, 1);
    CHECK_EQ(key(progress.phase), "pre_germination");
    pass(14, 12);
    CHECK_EQ(needs(progress, now).threshold_kpa, -100);
    // Warm-season seed waits at a warmth that cool-season seed comes up in.
    Progress warm = begin(Method::seed, {{Species::bermudagrass, 1}}, kStart);
    for (now = kStart; now < kStart + kDay * 10;) {
        now += kHour;
        advance(warm, 12, -30, kHour, now);
    }
    CHECK(needs(warm, now).threshold_kpa < -1000);
}
