#include "rig.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

Timing timing_of(turf::Method method, Date start, std::optional<turf::Species> species = {},
                 garden::Units units = garden::Units::metric) {
    garden::Garden garden = garden_of({zone_of(method, start)});
    garden::Establishment& sown = garden.zones[0].establishment;
    if (species) sown.mix = {{*species, 1.0}};
    const Climate climate = climate_of(garden.site.place, {});
    return timing(sown, climate, frost_outlook(garden, {}, start), Show(units));
}

std::string said(const Timing& timing) {
    std::string text;
    for (const std::string& sentence : timing.sentences)
        text += sentence + "\n";
    return text;
}

bool says(const Timing& timing, const char* piece) {
    return said(timing).find(piece) != std::string::npos;
}

} // namespace

TEST_CASE("late summer is in time up to 45 days before frost, and too late from the day after") {
    CHECK(timing_of(turf::Method::seed, day(2026, 8, 23)).verdict == Verdict::in_time);
    const Timing late = timing_of(turf::Method::seed, day(2026, 8, 24));
    CHECK(late.verdict == Verdict::too_late);
    CHECK(late.latest.value() == day(2026, 8, 23));
    for (const char* way_out : {"sod", "dormant seed", "spring", "Too late to sow", "44 days"})
        CHECK_MESSAGE(says(late, way_out), said(late));
}

TEST_CASE("warm- and cool-season grass in one sowing is advised against, with the reason") {
    garden::Establishment mixed;
    mixed.method = turf::Method::seed;
    mixed.start = day(2026, 6, 1);
    mixed.mix = {{turf::Species::bermudagrass, 0.5}, {turf::Species::tall_fescue, 0.5}};
    const Timing both = timing(mixed, climate_of({35, -90, 100}, {}), {}, Show({}));
    CHECK_MESSAGE(says(both, "Sow one kind"), said(both));
    mixed.mix = {{turf::Species::bermudagrass, 0.95}, {turf::Species::tall_fescue, 0.05}};
    CHECK_FALSE(says(timing(mixed, climate_of({35, -90, 100}, {}), {}, Show({})), "Sow one kind"));
}

TEST_CASE("after the frost it is too late too, until the soil is cold enough for dormant seed") {
    CHECK(timing_of(turf::Method::seed, day(2026, 10, 12)).verdict == Verdict::too_late);
    const Timing dormant = timing_of(turf::Method::seed, day(2026, 12, 5));
    CHECK(dormant.verdict == Verdict::dormant);
    CHECK(says(dormant, "dormant"));
}

TEST_CASE("spring is allowed with its caveat") {
    const Timing spring = timing_of(turf::Method::seed, day(2026, 5, 1));
    CHECK(spring.verdict == Verdict::spring);
    CHECK(timing_of(turf::Method::seed, day(2026, 3, 1)).verdict == Verdict::spring);
    CHECK(timing_of(turf::Method::seed, day(2026, 6, 20)).verdict == Verdict::spring);
    CHECK(timing_of(turf::Method::seed, day(2026, 7, 25)).verdict == Verdict::in_time);
    CHECK(says(spring, "first summer"));
}

TEST_CASE("warm-season seed is refused with a reason: too cold a soil, too short a summer") {
    CHECK(timing_of(turf::Method::seed, day(2026, 6, 15), turf::Species::bermudagrass).verdict ==
          Verdict::in_time);
    const Timing cold =
        timing_of(turf::Method::seed, day(2026, 4, 20), turf::Species::bermudagrass);
    CHECK(cold.verdict != Verdict::in_time);
    const Timing late =
        timing_of(turf::Method::seed, day(2026, 8, 22), turf::Species::bermudagrass);
    CHECK(late.verdict == Verdict::too_short);
    CHECK_MESSAGE(says(late, "950"), said(late));
    CHECK(says(timing_of(turf::Method::seed, day(2026, 8, 22), turf::Species::buffalograss),
               "none is published"));
}

TEST_CASE("sod may come later than seed, as long as it can root") {
    CHECK(timing_of(turf::Method::sod, day(2026, 9, 20)).verdict == Verdict::in_time);
    CHECK(timing_of(turf::Method::sod, day(2026, 11, 15)).verdict == Verdict::too_late);
}

TEST_CASE("without a date of frost nothing is counted back, and that is said") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.site.first_frost.reset();
    const Timing unknown =
        timing(garden.zones[0].establishment, climate_of(garden.site.place, {}),
               frost_outlook(garden, {}, day(2026, 8, 22)), Show(garden::Units::metric));
    CHECK(unknown.verdict == Verdict::frost_unknown);
    CHECK_FALSE(unknown.latest.has_value());
    CHECK(says(unknown, "first_frost"));
}

TEST_CASE("south of the equator autumn is in March") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 3, 1))});
    garden.site.place = {-36, 149, 600};
    garden.site.first_frost = std::chrono::May / 10;
    const Climate climate = climate_of(garden.site.place, {});
    const auto verdict_on = [&](Date start) {
        garden.zones[0].establishment.start = start;
        return timing(garden.zones[0].establishment, climate, frost_outlook(garden, {}, start),
                      Show(garden::Units::metric));
    };
    CHECK(verdict_on(day(2026, 3, 1)).verdict == Verdict::in_time);
    CHECK(verdict_on(day(2026, 3, 1)).latest.value() == day(2026, 3, 26));
    CHECK(verdict_on(day(2026, 4, 20)).verdict == Verdict::too_late);
    CHECK(verdict_on(day(2026, 9, 20)).verdict == Verdict::spring);
}

TEST_CASE("temperatures are told in the units of the site") {
    CHECK(says(timing_of(turf::Method::seed, day(2026, 9, 1), {}, garden::Units::us), "41 F"));
    CHECK(says(timing_of(turf::Method::seed, day(2026, 9, 1)), "5 C"));
}

TEST_CASE("warmer is never later below the optimum, and later sowing never earlier green") {
    garden::Establishment sown = zone_of(turf::Method::seed, day(2026, 8, 22)).establishment;
    const Climate climate = climate_of({42, -93, 290}, {});
    for (double warmer = -4; warmer < 2; warmer += 1) {
        const Course cool = course(sown, climate, warmer);
        const Course warm = course(sown, climate, warmer + 1);
        CHECK(warm.first_green.value() <= cool.first_green.value());
        CHECK(warm.all_up.value() <= cool.all_up.value());
    }
    Date before = course(sown, climate).all_up.value();
    for (int later = 1; later < 40; later += 5) {
        sown.start = add_days(day(2026, 8, 22), later);
        const Date now = course(sown, climate).all_up.value();
        CHECK(now >= before);
        before = now;
    }
}

TEST_CASE("what is sown into the rising heat is not called spring sowing") {
    const Timing july = timing_of(turf::Method::seed, day(2026, 7, 1));
    CHECK(july.verdict == Verdict::spring); // possible, with its caveat
    CHECK_MESSAGE(says(july, "rising heat"), said(july));
    CHECK_FALSE(says(july, "Spring sowing"));
    CHECK(says(timing_of(turf::Method::seed, day(2026, 4, 20)), "Spring sowing"));
}
