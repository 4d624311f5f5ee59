// Dates with ranges: what is said beforehand, and what then happens.
#include "turf/prospect.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <vector>

using namespace firstmow;
using namespace firstmow::turf;

namespace {

constexpr Seconds kHour{3600};
constexpr Seconds kDay{86400};
const WallTime kStart = wall_from_unix(1'787'000'400);
const std::vector<MixShare> kMix{{Species::kentucky_bluegrass, 0.6},
                                 {Species::perennial_ryegrass, 0.4}};

std::vector<SoilDay> steady(double mean_c, double doubt_c = 1.5, std::size_t count = 150) {
    return std::vector<SoilDay>(count, SoilDay{mean_c, 4, doubt_c});
}

void pass(Progress& progress, WallTime& now, Seconds span, double temp_c, double kpa = -30) {
    for (const WallTime end = now + span; now < end;) {
        now += kHour;
        advance(progress, temp_c, kpa, kHour, now);
    }
}

double days(const std::optional<WallTime>& moment) {
    REQUIRE(moment.has_value());
    return static_cast<double>((*moment - kStart).count()) / 86400;
}
double width(const When& when) {
    return days(when.late) - days(when.early);
}

Prospect fresh(double temp_c, Method method = Method::seed) {
    return prospect(begin(method, kMix, kStart), kStart, steady(temp_c));
}

void check_ordered(const When& when) {
    if (when.late) REQUIRE(when.likely.has_value());
    if (when.likely) REQUIRE(when.early.has_value());
    if (when.late) CHECK(*when.likely <= *when.late);
    if (when.likely) CHECK(*when.early <= *when.likely);
}

} // namespace

TEST_CASE("each species and the mix have their dates, with a range around each") {
    const Prospect all = fresh(18);
    REQUIRE_EQ(all.species.size(), 2);
    const SpeciesProspect& blue = all.species[0];
    const SpeciesProspect& rye = all.species[1];
    for (const SpeciesProspect& species : all.species) {
        for (const When& when : {species.first_green, species.half_up, species.all_up}) {
            check_ordered(when);
            CHECK(width(when) > 1);
            CHECK(width(when) < 14);
        }
        CHECK(days(species.first_green.likely) < days(species.half_up.likely));
        CHECK(days(species.half_up.likely) < days(species.all_up.likely));
    }
    // Extension services: ryegrass shows after 5-10 days, bluegrass after 14-30.
    CHECK(days(rye.half_up.likely) > 7);
    CHECK(days(rye.half_up.likely) < 11);
    CHECK(days(blue.half_up.likely) > 14);
    CHECK(days(blue.half_up.likely) < 19);
    // The mix: green with the ryegrass, up with the bluegrass, half in between.
    CHECK(all.first_green == rye.first_green);
    CHECK_EQ(days(all.all_up.likely), doctest::Approx(days(blue.all_up.likely)).epsilon(0.02));
    CHECK(days(all.half_up.likely) > days(rye.half_up.likely));
    CHECK(days(all.half_up.likely) < days(blue.half_up.likely));
    CHECK(days(all.first_mow.likely) > days(all.all_up.likely));
    CHECK(days(all.grown_in.likely) > days(all.first_mow.likely));
    CHECK_FALSE(all.rooted.early.has_value());
}

TEST_CASE("warmer soil is never later below the optimum, colder never sooner") {
    Prospect before = fresh(8);
    for (double temp_c = 9; temp_c <= 17; temp_c += 0.5) {
        CAPTURE(temp_c);
        const Prospect now = fresh(temp_c);
        for (std::size_t k = 0; k < now.species.size(); ++k) {
            CHECK(now.species[k].first_green.likely <= before.species[k].first_green.likely);
            CHECK(now.species[k].all_up.early <= before.species[k].all_up.early);
            CHECK(now.species[k].all_up.likely <= before.species[k].all_up.likely);
            CHECK(now.species[k].all_up.late <= before.species[k].all_up.late);
        }
        CHECK(now.all_up.likely <= before.all_up.likely);
        before = now;
    }
}

TEST_CASE("the range narrows as the season goes on and closes when it is over") {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;
    double before = width(prospect(progress, now, steady(18)).all_up);
    for (int week = 0; week < 2; ++week) {
        pass(progress, now, kDay * 6, 18);
        const double is = width(prospect(progress, now, steady(18)).all_up);
        CHECK(is < before);
        before = is;
    }
    while (!progress.all_up)
        pass(progress, now, kHour, 18);
    pass(progress, now, kDay, 18);
    const Prospect after = prospect(progress, now, steady(18));
    CHECK(after.all_up.early == progress.all_up);
    CHECK(after.all_up.late == progress.all_up);
    CHECK(after.species[0].all_up.likely == progress.all_up);
    CHECK(after.species[1].half_up.likely == progress.species[1].half_up);
    CHECK(after.species[1].half_up.likely < now);
    CHECK(after.species[0].curve.empty());
}

TEST_CASE("what is said is what then happens, when weather and lot are as thought") {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;
    const Prospect said = prospect(progress, now, std::vector<SoilDay>(150, SoilDay{16, 0, 0}));
    while (!progress.all_up)
        pass(progress, now, kHour, 16);
    CHECK_EQ(days(said.all_up.likely), doctest::Approx(days(now)).epsilon(0.03));
    CHECK(said.all_up.early < now);
    CHECK(said.all_up.late > now);
}

TEST_CASE("reports move the dates the right way and narrow them") {
    Progress silent = begin(Method::seed, {{Species::perennial_ryegrass, 1}}, kStart);
    WallTime now = kStart;
    pass(silent, now, kDay * 5, 20);
    const Prospect before = prospect(silent, now, steady(20));
    Progress seen = silent;
    observe(seen, ObservationKind::seedlings_seen, now);
    const Prospect early = prospect(seen, now, steady(20));
    CHECK(early.first_green.likely == now);
    CHECK(*early.all_up.likely < *before.all_up.likely);
    CHECK(width(early.all_up) < width(before.all_up));
    WallTime then = now;
    pass(silent, then, kDay * 3, 20);
    const Prospect unasked = prospect(silent, then, steady(20));
    observe(silent, ObservationKind::nothing_yet, then);
    const Prospect late = prospect(silent, then, steady(20));
    CHECK(*late.all_up.likely > *unasked.all_up.likely);
    CHECK(*late.all_up.late > *unasked.all_up.late);
}

TEST_CASE("the emergence curve rises to the stand and its bands lie around it") {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;
    pass(progress, now, kDay * 8, 18);
    pass(progress, now, 4 * kHour, 18, -1500);
    const double stand = stand_of(progress).alive;
    CHECK(stand < 0.95);
    const Prospect all = prospect(progress, now, steady(18));
    for (const SpeciesProspect& species : all.species) {
        REQUIRE(species.curve.size() > 3);
        REQUIRE_EQ(species.curve.size(), species.curve_low.size());
        double before = species.up;
        for (std::size_t day = 0; day < species.curve.size(); ++day) {
            CHECK(species.curve_low[day] <= species.curve[day]);
            CHECK(species.curve[day] <= species.curve_high[day]);
            CHECK(species.curve[day] >= before - 1e-9);
            before = species.curve[day];
        }
        CHECK_EQ(before, doctest::Approx(species.stand).epsilon(0.03));
    }
}

TEST_CASE("sod roots, then is mown; a mature lawn has nothing to wait for") {
    const Prospect sod = fresh(18, Method::sod);
    CHECK(sod.species.empty());
    // Tug test at 10-14 days (extension services) in growing weather.
    CHECK(days(sod.rooted.likely) > 10);
    CHECK(days(sod.rooted.likely) < 18);
    CHECK(sod.first_mow.likely >= sod.rooted.likely);
    CHECK(days(sod.grown_in.likely) > 30);
    CHECK_FALSE(sod.all_up.likely.has_value());
    const Prospect mature = prospect(begin(Method::none, {}, kStart), kStart, steady(18));
    CHECK_FALSE(mature.grown_in.likely.has_value());
    CHECK(mature.species.empty());
}

TEST_CASE("too cold within the days given: no date rather than a wrong one") {
    const Prospect cold = fresh(1);
    CHECK_FALSE(cold.all_up.likely.has_value());
    const Prospect brief = prospect(begin(Method::seed, kMix, kStart), kStart, steady(18, 1.5, 14));
    CHECK(brief.first_green.late.has_value());
    CHECK_FALSE(brief.all_up.late.has_value());
}

TEST_CASE("seed that waits for its day is reckoned from that day") {
    const Progress progress = begin(Method::seed, kMix, kStart);
    const Prospect ahead = prospect(progress, kStart - kDay * 10, steady(18));
    CHECK_EQ(days(ahead.first_green.likely), days(fresh(18).first_green.likely));
}

TEST_CASE("half up stays the day on which it came, and the curve has its past") {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;
    CHECK(prospect(progress, now, steady(18)).species[0].curve_past.empty());
    std::optional<WallTime> came;
    for (int day = 1; day <= 30; ++day) {
        const Prospect before = prospect(progress, now, steady(18, 0.01));
        pass(progress, now, kDay, 18);
        const Prospect seen = prospect(progress, now, steady(18));
        for (const SpeciesProspect& species : seen.species) {
            // A value for each day, never falling where nothing dies, up to what is up now.
            const bool over = species.curve_past.back() > 0.999; // then no more are kept
            if (!over) CHECK_EQ(species.curve_past.size(), static_cast<std::size_t>(day));
            CHECK(std::ranges::is_sorted(species.curve_past));
            CHECK_EQ(species.curve_past.back(), doctest::Approx(species.up).epsilon(0.001));
        }
        if (!progress.half_up) {
            CHECK_FALSE(came.has_value());
            CHECK(seen.half_up.late > now);
            continue;
        }
        if (!came) {
            came = progress.half_up;
            CHECK(*came > now - kDay);
            CHECK(*came <= now);
            // Where it was expected the day before.
            CHECK(std::abs(days(came) - days(before.half_up.likely)) < 1);
        }
        CHECK(seen.half_up == When{*came, *came, *came});
    }
    REQUIRE(came.has_value());
    CHECK(days(came) > days(progress.species[1].half_up));
    CHECK(days(came) < days(progress.species[0].half_up));
}

TEST_CASE("a curve's past is drawn by what is believed now, and loses what has died since") {
    Progress progress = begin(Method::seed, kMix, kStart);
    WallTime now = kStart;
    pass(progress, now, 16 * kDay, 18);
    const std::vector<double> before = prospect(progress, now, steady(18)).species[0].curve_past;
    observe(progress, ObservationKind::nothing_yet, now);
    const std::vector<double> after = prospect(progress, now, steady(18)).species[0].curve_past;
    REQUIRE_EQ(before.size(), after.size());
    CHECK(after.back() < before.back());
    // Much of it is killed by two dry days; the past shows what of it still stands.
    Progress dry = progress;
    pass(dry, now, 2 * kDay, 18, -3000);
    const Prospect left = prospect(dry, now, steady(18));
    CHECK(left.species[0].stand < 0.9);
    CHECK_EQ(left.species[0].curve_past.back(), doctest::Approx(left.species[0].up));
    CHECK(left.species[0].curve_past.back() < after.back());
}

TEST_CASE("standing turf that is cut when it wants to be does not hold the seedlings back") {
    // The dates reckon with a mow that is due being done.
    const When mow = fresh(18, Method::overseed).first_mow;
    const When alone = fresh(18).first_mow;
    CHECK(days(mow.likely) > days(alone.likely));
    CHECK(days(mow.likely) < 2 * days(alone.likely));
}
