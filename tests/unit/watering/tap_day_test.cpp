// The shared tap looked at for the whole of a day.
#include "watering/tap_day.hpp"

#include "trial_task.hpp"
#include "watering/explain.hpp"
#include "watering/rollout.hpp"

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

const trial::Air kThirtyFive{27, 8, 11, 3}; // 35 C in the afternoon

garden::Garden beds(int count, double rate_mm_per_h, int open_h) {
    std::vector<garden::Zone> zones;
    for (int i = 0; i < count; ++i) {
        zones.push_back(seed_zone("z" + std::to_string(i + 1), soil::TextureClass::sandy_loam));
        zones.back().precipitation_rate_mm_per_h = rate_mm_per_h;
    }
    auto garden = garden_of(zones, 1.2 * zones[0].flow_l_per_min());
    garden.supply.hours = {{6 * 3600, (6 + open_h) * 3600}};
    return garden;
}

PlanContext context_of(Planning& planning) {
    return {planning.now(), planning.hours(), &planning.garden(), &planning.timezone()};
}

std::vector<ZoneTask> tasks_of(Planning& planning) {
    std::vector<ZoneTask> tasks;
    for (std::size_t i = 0; i < planning.garden().zones.size(); ++i)
        tasks.push_back(planning.task(i));
    return tasks;
}

TapDay day_of(Planning& planning) {
    const PlanContext context = context_of(planning);
    return tap_day(context, evenings_of(context), tasks_of(planning));
}

} // namespace

TEST_CASE("tap day: a tap with time to spare is no matter") {
    Planning alone(beds(1, 3, 10), local(1, 6), kThirtyFive);
    Planning ample(beds(2, 40, 14), local(1, 6));
    for (Planning* planning : {&alone, &ample}) {
        const TapDay day = day_of(*planning);
        CHECK_FALSE(day.crowded);
        for (const auto& closing : day.closings)
            CHECK_FALSE(closing);
        for (const auto& run : day.runs)
            CHECK_FALSE(run);
    }
}

TEST_CASE("tap day: last runs of the day stand one behind the other, and the hours end with them") {
    Planning planning(beds(3, 9, 10), local(1, 6), kThirtyFive);
    const TapDay day = day_of(planning);
    // The first of the garden has the end of the hours, the others end sooner, each at its time.
    CHECK_FALSE(day.closings[0]);
    REQUIRE(day.closings[1]);
    REQUIRE(day.closings[2]);
    CHECK(*day.closings[1] < local(1, 16));
    CHECK(*day.closings[2] < *day.closings[1]);
    CHECK(*day.closings[2] > local(1, 12));
    // A bed that drying kills goes to the end.
    for (turf::SpeciesProgress& species : planning.task(2).state.progress.species)
        species.tau = 1.3 * species.slowness;
    const TapDay dear = day_of(planning);
    CHECK_FALSE(dear.closings[2]);
    REQUIRE(dear.closings[1]);
    REQUIRE(dear.closings[0]);
    CHECK(*dear.closings[1] < *dear.closings[0]);
}

TEST_CASE("tap day: what the tap cannot give later it gives ahead, and says so") {
    Planning planning(beds(2, 3, 10), local(1, 6), kThirtyFive);
    const TapDay day = day_of(planning);
    CHECK(day.crowded);
    const auto plans = planning.plan();
    int ahead = 0;
    for (std::size_t i = 0; i < plans.size(); ++i) {
        REQUIRE(plans[i].start);
        if (!plans[i].ahead) continue;
        ++ahead;
        CHECK(*plans[i].start < *plans[i].dry_at);
        const std::string said =
            explain(plans[i], planning.task(i), planning.timezone(), planning.now());
        CHECK(said.find("ahead of its need") != std::string::npos);
    }
    CHECK(ahead > 0);
    // One at a time all the same, and within the hours.
    const auto [first, second] = std::minmax(plans[0].start.value(), plans[1].start.value());
    CHECK(second - first >= Seconds{std::min(plans[0].run_s, plans[1].run_s)});
    CHECK(first == local(1, 6));
}

TEST_CASE("tap day: nothing is brought forward into a hold") {
    Planning planning(beds(2, 3, 10), local(1, 6), kThirtyFive);
    planning.task(0).hold_until = local(1, 9);
    const auto plans = planning.plan();
    CHECK((!plans[0].start || *plans[0].start >= local(1, 9)));
    REQUIRE(plans[1].start);
    CHECK(*plans[1].start == local(1, 6));
}

TEST_CASE("tap day: the day that is lived through counts dryness by what it costs") {
    Planning planning(beds(2, 3, 10), local(1, 6), kThirtyFive);
    const PlanContext context = context_of(planning);
    const auto lived = [&](const std::vector<ZoneTask>& tasks) {
        std::deque<SharedBed> shared;
        std::vector<LastRun> none;
        for (std::size_t i = 0; i < tasks.size(); ++i) {
            SharedBed& bed = shared.emplace_back(context, evenings_of(context), tasks[i], i);
            // The tap is shut: no bed has a turn.
            bed.earliest = bed.hours_to = context.now;
            none.push_back({context.now, 0});
        }
        return live_day(context, tasks, shared, none, {});
    };
    auto tasks = tasks_of(planning);
    const LivedDay waiting = lived(tasks);
    CHECK(waiting.cost_min > 0);
    CHECK(waiting.open.count() == 0);
    CHECK_FALSE(waiting.next[0]);
    for (ZoneTask& task : tasks)
        for (turf::SpeciesProgress& species : task.state.progress.species)
            species.tau = 1.3 * species.slowness;
    const LivedDay dying = lived(tasks);
    // A bed that drying kills is also held a little farther from it.
    const double times = weight(AtStake::stand) / weight(AtStake::time);
    CHECK(dying.cost_min >= times * waiting.cost_min);
    CHECK(dying.cost_min <= 1.05 * times * waiting.cost_min);
}
