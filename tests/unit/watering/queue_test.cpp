// One tap for all: runs that are wished for the same time must be staggered early enough.
#include "watering/planner.hpp"
#include "watering/tap_day.hpp"
#include "watering/wish.hpp"

#include "base/random.hpp"
#include "trial_task.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::garden_of;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::Planning;
using firstmow::trial::seed_zone;

namespace {

// Whether runs that may each start at `latest[i]` at the latest fit one after the other from `now`
// on: tried in every order, each as early as it can be.
bool fits_in_turn(WallTime now, std::vector<std::pair<WallTime, Seconds>> runs) {
    std::sort(runs.begin(), runs.end());
    do {
        WallTime at = now;
        bool in_time = true;
        for (const auto& [latest, run] : runs) {
            in_time = in_time && at <= latest;
            at += run;
        }
        if (in_time) return true;
    } while (std::next_permutation(runs.begin(), runs.end()));
    return false;
}

} // namespace

TEST_CASE("queue: beds due at once on a tap for one are watered in turn, none late") {
    for (const int count : {2, 4}) {
        std::vector<garden::Zone> zones;
        for (int i = 0; i < count; ++i)
            zones.push_back(seed_zone("z" + std::to_string(i + 1)));
        Planning planning(garden_of(zones), local(1, 8));
        const auto plans = planning.plan();
        const Wish alone =
            wish({planning.now(), planning.hours(), &planning.garden(), &planning.timezone()},
                 planning.task(0));
        std::vector<WallTime> starts;
        for (const ZonePlan& plan : plans) {
            REQUIRE(plan.verdict == ZonePlan::Verdict::run);
            CHECK_FALSE(plan.late);
            CHECK(*plan.start <= *alone.plan.start);
            starts.push_back(*plan.start);
        }
        std::sort(starts.begin(), starts.end());
        // Not earlier than the tap requires: they follow each other without a pause.
        for (std::size_t i = 1; i < starts.size(); ++i)
            CHECK(starts[i] - starts[i - 1] == Seconds{plans[0].run_s});
        CHECK(starts.back() == *alone.plan.start);
    }
}

TEST_CASE("queue: a tap for two runs two at a time") {
    Planning planning(
        garden_of({seed_zone("z1"), seed_zone("z2"), seed_zone("z3"), seed_zone("z4")}, 41),
        local(1, 8));
    auto plans = planning.plan();
    std::vector<WallTime> starts;
    for (const ZonePlan& plan : plans)
        starts.push_back(plan.start.value());
    std::sort(starts.begin(), starts.end());
    CHECK(starts[0] == starts[1]);
    CHECK(starts[2] == starts[3]);
    CHECK(starts[2] - starts[0] == Seconds{plans[0].run_s});
}

TEST_CASE("queue: a tap that is taken now is waited for") {
    Planning planning(garden_of({seed_zone("z1"), seed_zone("z2")}), local(1, 8));
    planning.dry_out(0, 30);
    planning.task(1).open_until = local(1, 8, 40);
    const auto plan = planning.plan()[0];
    CHECK(plan.verdict == ZonePlan::Verdict::run);
    CHECK(plan.start == local(1, 8, 40));
    CHECK(plan.late);
}

TEST_CASE("queue: of those that are due by now the driest goes first") {
    Planning planning(garden_of({seed_zone("z1"), seed_zone("z2")}), local(1, 8), trial::kHot);
    planning.dry_out(1, 30);
    // The first will be dry in half an hour, the second is.
    const ZoneTask& first = planning.task(0);
    const DryTest test = dry_test(*first.spec, first.state.progress, first.needs);
    Outlook soon = look(*first.spec, first.state, test, planning.now());
    pass(soon, planning.hours(), local(1, 8, 15), false);
    planning.plan_dry_below(0, judged_kpa(soon, test) - 0.01);
    const auto plans = planning.plan();
    REQUIRE(plans[0].dry_at);
    REQUIRE(*plans[0].dry_at > local(1, 8));
    REQUIRE(*plans[0].dry_at <= local(1, 8, 30));
    REQUIRE(plans[0].start);
    REQUIRE(plans[1].start);
    CHECK(*plans[1].start == local(1, 8));
}

TEST_CASE("queue: whatever can be in time in some order is in time") {
    // Beds that are dry at different times with runs of different lengths, one at a time. Where the
    // rest of the day is too much for the tap a bed may be late for the good of a later hour: those
    // trials are not asked.
    Random random(7);
    int tight = 0;
    for (int trial = 0; trial < 60; ++trial) {
        std::vector<garden::Zone> zones;
        const int count = 2 + trial % 3;
        for (int i = 0; i < count; ++i) {
            zones.push_back(seed_zone("z" + std::to_string(i + 1)));
            zones.back().shortest_run_s = 60 * static_cast<int>(random.uniform(5, 45));
            zones.back().precipitation_rate_mm_per_h = 24; // 40 L/min
        }
        Planning planning(garden_of(zones, 50), local(1, 8));
        for (std::size_t i = 0; i < zones.size(); ++i)
            planning.task(i).needs.threshold_kpa = random.uniform(-60, -20);
        const auto plans = planning.plan();
        std::vector<std::pair<WallTime, Seconds>> runs;
        bool staggered = false;
        bool late = false;
        for (std::size_t i = 0; i < plans.size(); ++i) {
            const Wish alone =
                wish({planning.now(), planning.hours(), &planning.garden(), &planning.timezone()},
                     planning.task(i));
            REQUIRE(alone.plan.start);
            REQUIRE(plans[i].start);
            runs.emplace_back(std::max(*alone.plan.start, alone.plan.dry_at.value()),
                              Seconds{alone.plan.run_s});
            staggered = staggered || plans[i].start != alone.plan.start;
            late = late || plans[i].late;
        }
        const PlanContext context{planning.now(), planning.hours(), &planning.garden(),
                                  &planning.timezone()};
        std::vector<ZoneTask> tasks;
        for (std::size_t i = 0; i < zones.size(); ++i)
            tasks.push_back(planning.task(i));
        if (tap_day(context, evenings_of(context), tasks).binding) continue;
        tight += staggered;
        CAPTURE(trial);
        if (fits_in_turn(planning.now(), runs)) CHECK_FALSE(late);
    }
    CHECK(tight > 10); // the tap was contended at all
}
