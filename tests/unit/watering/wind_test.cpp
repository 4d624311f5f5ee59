// Where the garden file sets a limit to the wind, no planned run begins in more.
#include "trial_task.hpp"
#include "watering/explain.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::garden_of;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::Planning;
using firstmow::trial::seed_zone;
using Verdict = ZonePlan::Verdict;

namespace {

constexpr double kBreeze = 2;
constexpr double kStorm = 9;
constexpr double kLimit = 5;

// A bed at ten in the morning; it blows where `windy` says so.
struct Morning {
    explicit Morning(std::optional<double> limit) : planning(garden(limit), local(0, 10)) {
        blow([](WallTime) { return false; });
    }
    static garden::Garden garden(std::optional<double> limit) {
        garden::Garden garden = garden_of({seed_zone("z1")});
        garden.interlocks.wind_m_s = limit;
        return garden;
    }
    template <class Windy>
    void blow(const Windy& windy) {
        for (weather::Hour& hour : planning.weather())
            hour.wind_2m_m_s = windy(hour.start) ? kStorm : kBreeze;
    }
    ZonePlan plan() { return planning.plan()[0]; }
    Planning planning;
};

WallTime hour_of(WallTime at) {
    return std::chrono::floor<std::chrono::hours>(at);
}

} // namespace

TEST_CASE("wind: a limit that is not reached changes nothing, nor does a wind without a limit") {
    Morning free(std::nullopt);
    Morning limited(kLimit);
    const ZonePlan usual = free.plan();
    REQUIRE(usual.verdict == Verdict::run);
    CHECK(limited.plan().start == usual.start);
    CHECK(limited.plan().run_s == usual.run_s);
    free.blow([](WallTime) { return true; });
    CHECK(free.plan().verdict == Verdict::run);
    // Nor does one that is over by then.
    const WallTime start = hour_of(*usual.start);
    REQUIRE(start > local(0, 10));
    for (Morning* one : {&free, &limited})
        one->blow([&](WallTime at) { return at < start - kHour; });
    CHECK(limited.plan().start == free.plan().start);
}

TEST_CASE(
    "wind: a run is put into the next calm hour, and called late where the bed dries before") {
    for (const int hours : {1, 2, 3}) {
        CAPTURE(hours);
        Morning free(std::nullopt);
        Morning limited(kLimit);
        const WallTime begins = hour_of(*free.plan().start);
        // Wind dries a bed: where the plan would lie without the limit is asked under the same.
        const auto windy = [&](WallTime at) {
            return at >= begins - 2 * kHour && at < begins + hours * kHour;
        };
        free.blow(windy);
        limited.blow(windy);
        const ZonePlan without = free.plan();
        REQUIRE(without.verdict == Verdict::run);
        REQUIRE(windy(hour_of(*without.start)));
        const ZonePlan plan = limited.plan();
        REQUIRE(plan.verdict == Verdict::run);
        CHECK(*plan.start == begins + hours * kHour);
        CHECK_FALSE(windy(hour_of(*plan.start)));
        REQUIRE(plan.dry_at);
        CHECK(plan.late == (*plan.start > *plan.dry_at));
    }
}

TEST_CASE("wind: a wind that does not end as far as is seen withholds the run, and says so") {
    Morning limited(kLimit);
    limited.blow([](WallTime) { return true; });
    const ZonePlan plan = limited.plan();
    CHECK(plan.verdict == Verdict::withhold);
    CHECK(plan.reason == Reason::wind);
    CHECK_FALSE(plan.start);
    CHECK(key(plan.reason) == "wind");
    const std::string said =
        explain(plan, limited.planning.task(), trial::local_zone(), limited.planning.now());
    CHECK_MESSAGE(said.ends_with(": the wind is too strong."), said);
}
