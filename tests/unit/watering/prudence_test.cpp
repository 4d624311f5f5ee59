// What is not certain: doubt of the weather to come, rain by what it would cost to be wrong, and
// the length of a run as what comes cheapest.
#include "trial_task.hpp"
#include "watering/shortfall.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <span>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::garden_of;
using firstmow::trial::local;
using firstmow::trial::Planning;
using firstmow::trial::seed_zone;

namespace {

ZonePlan plan_with(Planning& planning, const std::vector<HourDemand>& hours) {
    const PlanContext context{planning.now(), hours, &planning.garden(), &planning.timezone()};
    return plan(context, std::span(&planning.task(), 1))[0];
}

std::vector<HourDemand> doubted(Planning& planning, double doubt) {
    auto hours = planning.hours();
    for (HourDemand& hour : hours)
        hour.et_doubt = doubt;
    return hours;
}

garden::Zone strewn_zone() {
    garden::Zone zone = seed_zone("z1");
    zone.establishment.cover = turf::Cover::straw;
    return zone;
}

} // namespace

TEST_CASE("prudence: the more is at stake the more is wanted of rain, and the less is dared") {
    double rain_from = 0, caution = 0;
    for (const AtStake stake : {AtStake::looks, AtStake::time, AtStake::growth, AtStake::stand}) {
        const Prudence p = prudence_of(stake);
        CHECK(p.rain_from > rain_from);
        CHECK(p.rain_from < 1); // certain rain always counts
        CHECK(p.caution >= caution);
        rain_from = p.rain_from;
        caution = p.caution;
    }
}

TEST_CASE("prudence: a worse record of the forecast never waters later, nor less at a time") {
    for (const auto texture : {soil::TextureClass::sand, soil::TextureClass::loam}) {
        for (const int hour : {5, 8, 11, 14, 17, 22}) {
            CAPTURE(hour);
            Planning planning(garden_of({seed_zone("z1", texture)}), local(1, hour));
            WallTime last = WallTime::max();
            int last_s = 0;
            // (With much more than that no run lasts the night, and what was wetted deeper for it
            // is saved.)
            for (const double doubt : {0.0, 0.1, 0.25, 0.4}) {
                CAPTURE(doubt);
                const ZonePlan plan = plan_with(planning, doubted(planning, doubt));
                REQUIRE(plan.start);
                CHECK(*plan.start <= last);
                if (*plan.start == last) CHECK(plan.run_s + plan.owed_s >= last_s);
                last = *plan.start;
                last_s = plan.run_s + plan.owed_s;
            }
        }
    }
}

TEST_CASE("prudence: rain that never came when it was said is not waited for") {
    Planning planning(garden_of({seed_zone("z1")}), local(1, 12), trial::kMild);
    for (std::size_t i = 1; i < 60; i += 3) {
        planning.weather()[i].rain_mm = 2;
        planning.weather()[i].rain_probability = 0.9;
        planning.weather()[i].solar_w_m2 *= 0.2;
    }
    WallTime last = WallTime::max();
    for (const double share : {1.0, 0.7, 0.3, 0.1, 0.0}) {
        CAPTURE(share);
        auto hours = planning.hours();
        for (HourDemand& hour : hours)
            if (hour.rain_mm_per_h > 0) hour.rain_share = share;
        const ZonePlan plan = plan_with(planning, hours);
        if (share == 1) CHECK(plan.reason == Reason::rain_expected);
        CHECK(plan.start.value_or(WallTime::max()) <= last);
        last = plan.start.value_or(WallTime::max());
    }
    CHECK(last < WallTime::max());
}

TEST_CASE("prudence: seed that has sprouted does not wait for rain that may stay away") {
    const auto start_with = [](bool sprouted) {
        Planning planning(garden_of({seed_zone("z1")}), local(1, 12), trial::kHot);
        if (sprouted)
            for (turf::SpeciesProgress& species : planning.task().state.progress.species)
                species.tau = 0.9;
        const AtStake stake = at_stake(planning.task().state.progress);
        REQUIRE(stake == (sprouted ? AtStake::stand : AtStake::time));
        for (std::size_t i = 0; i < 60; ++i) {
            planning.weather()[i].rain_mm = 1;
            planning.weather()[i].rain_probability = 0.8;
        }
        return planning.plan()[0].start.value_or(WallTime::max());
    };
    CHECK(start_with(true) < start_with(false));
}

TEST_CASE("prudence: under straw no run only fills the straw") {
    for (const int hour : {9, 11, 13}) {
        CAPTURE(hour);
        Planning planning(garden_of({strewn_zone()}), local(1, hour), trial::kHot);
        planning.dry_out(0, 5);
        const ZonePlan plan = planning.plan()[0];
        REQUIRE(plan.start);
        const ZoneSpec& spec = *planning.task().spec;
        const double falls_mm =
            (plan.run_s + plan.owed_s) / 3600.0 * spec.rate_mm_per_h * spec.low_quarter;
        const SurfaceCover cover = cover_of(spec, planning.task().state.progress);
        CHECK(falls_mm > 2 * most_held(cover).straw_mm);
    }
}

TEST_CASE("prudence: the last run of a day lasts until the tap may run again") {
    Planning planning(garden_of({seed_zone("z1")}), local(1, 16, 30));
    planning.dry_out(0, 4);
    const ZonePlan plan = planning.plan()[0];
    REQUIRE(plan.start);
    REQUIRE(*plan.start < local(1, 19));
    const ZoneTask& task = planning.task();
    const DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
    Outlook o = look(*task.spec, task.state, test, planning.now());
    pass(o, planning.hours(), *plan.start, false);
    pass(o, planning.hours(), *plan.start + Seconds{plan.run_s + plan.owed_s}, true);
    const auto dry = first_dry(o, planning.hours(), local(2, 12), test).value_or(local(2, 12));
    CHECK(dry >= local(2, 6));
}
