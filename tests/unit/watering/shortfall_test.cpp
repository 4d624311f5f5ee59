// When the tap does not suffice, or may not run when it should.
#include "watering/shortfall.hpp"

#include "base/random.hpp"
#include "trial_task.hpp"
#include "watering/wish.hpp"

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

const trial::Air kThirtyFive{27, 8, 11, 3}; // 35 C in the afternoon

// Radicles of every species are out, nothing is up.
void sprout(ZoneTask& task) {
    for (turf::SpeciesProgress& species : task.state.progress.species)
        species.tau = 1.3 * species.slowness;
}

PlanContext context_of(Planning& planning) {
    return {planning.now(), planning.hours(), &planning.garden(), &planning.timezone()};
}

garden::Garden banned_garden() {
    auto garden = garden_of({seed_zone("z1")});
    garden.supply.hours = {{5 * 3600, 10 * 3600}, {18 * 3600, 21 * 3600}};
    return garden;
}

} // namespace

TEST_CASE("shortfall: what is at stake grows with the radicle and ends with the roots") {
    Planning planning(garden_of({seed_zone("z1"), trial::grown_zone("z2")}), local(1, 8));
    CHECK(at_stake(planning.task(0).state.progress) == AtStake::time);
    CHECK(at_stake(planning.task(1).state.progress) == AtStake::looks);
    sprout(planning.task(0));
    CHECK(at_stake(planning.task(0).state.progress) == AtStake::stand);
    CHECK(AtStake::stand > AtStake::growth);
    CHECK(AtStake::growth > AtStake::time);
    CHECK(AtStake::time > AtStake::looks);
}

TEST_CASE("shortfall: on a tap for one the bed that drying kills goes first, wherever it stands") {
    for (const std::size_t dear : {0U, 1U, 2U}) {
        Planning planning(garden_of({seed_zone("z1"), seed_zone("z2"), seed_zone("z3")}),
                          local(1, 11), kThirtyFive);
        for (std::size_t i = 0; i < 3; ++i)
            planning.dry_out(i, i == dear ? 12 : 30);
        sprout(planning.task(dear));
        const auto plans = planning.plan();
        REQUIRE(plans[dear].start);
        CHECK(*plans[dear].start == planning.now());
        for (std::size_t i = 0; i < 3; ++i)
            if (i != dear) CHECK(plans[i].start.value() >= *plans[dear].start + Seconds{60});
    }
}

TEST_CASE("shortfall: eight beds on one small tap at 35 C are all in time when that can be") {
    // One run at a time, all free to begin now: some order is in time if and only if the order of
    // their deadlines is (Jackson 1955), so that is the exact answer for eight.
    Random random(11);
    int feasible = 0;
    int tight = 0;
    for (int trial = 0; trial < 12; ++trial) {
        std::vector<garden::Zone> zones;
        for (int i = 0; i < 8; ++i) {
            zones.push_back(seed_zone("z" + std::to_string(i + 1)));
            zones.back().shortest_run_s = 60 * static_cast<int>(random.uniform(3, 14));
        }
        Planning planning(garden_of(zones), local(1, 8), kThirtyFive);
        for (std::size_t i = 0; i < 8; ++i)
            planning.task(i).needs.threshold_kpa = random.uniform(-90, -25);
        const auto plans = planning.plan();
        std::vector<std::pair<WallTime, Seconds>> runs; // latest start, length
        bool late = false;
        for (std::size_t i = 0; i < 8; ++i) {
            const Wish alone = wish(context_of(planning), planning.task(i));
            REQUIRE(alone.plan.start);
            runs.emplace_back(std::max(*alone.plan.start, alone.plan.dry_at.value()),
                              Seconds{alone.plan.run_s});
            late = late || !plans[i].start || plans[i].late;
            tight += plans[i].start != alone.plan.start;
        }
        std::sort(runs.begin(), runs.end(), [](const auto& a, const auto& b) {
            return a.first + a.second < b.first + b.second;
        });
        WallTime at = planning.now();
        bool fits = true;
        for (const auto& [latest, run] : runs) {
            fits = fits && at <= latest;
            at += run;
        }
        CAPTURE(trial);
        feasible += fits;
        if (fits) CHECK_FALSE(late);
    }
    CHECK(feasible >= 4);
    CHECK(tight > 20);
}

TEST_CASE("shortfall: a spell says when, how long, how dry and why; none while all is in time") {
    Planning fine(garden_of({seed_zone("z1")}), local(1, 10));
    CHECK_FALSE(dry_spell(context_of(fine), fine.task(), fine.plan()[0]));

    auto garden = garden_of({seed_zone("z1")});
    garden.supply.hours = {{6 * 3600, 8 * 3600}};
    Planning planning(garden, local(1, 9), trial::kHot);
    const auto plan = planning.plan()[0];
    REQUIRE(plan.late);
    const auto spell = dry_spell(context_of(planning), planning.task(), plan);
    REQUIRE(spell);
    CHECK(spell->obstacle == Obstacle::hours);
    CHECK(spell->from >= *plan.dry_at); // the planner is the more cautious
    CHECK(spell->until <= *plan.start);
    CHECK(spell->dry <= spell->until - spell->from);
    CHECK(spell->dry > 3 * kHour);
    CHECK(spell->lowest_kpa < planning.task().needs.threshold_kpa);
}

TEST_CASE("shortfall: the tap, a rest, the cold and a hold are told apart") {
    Planning busy(garden_of({seed_zone("z1"), seed_zone("z2")}), local(1, 11), trial::kHot);
    busy.dry_out(0, 30);
    busy.task(1).open_until = local(1, 12);
    const auto waits = busy.plan()[0];
    REQUIRE(waits.late);
    CHECK(dry_spell(context_of(busy), busy.task(), waits)->obstacle == Obstacle::tap);

    Planning rests(garden_of({seed_zone("z1")}), local(1, 11), trial::kHot);
    rests.dry_out(0, 30);
    rests.task().not_before = local(1, 13);
    CHECK(dry_spell(context_of(rests), rests.task(), rests.plan()[0])->obstacle == Obstacle::rest);

    Planning held(garden_of({seed_zone("z1")}), local(1, 11), trial::kHot);
    held.task().hold_until = local(2, 11);
    CHECK(dry_spell(context_of(held), held.task(), held.plan()[0])->obstacle == Obstacle::hold);

    Planning cold(garden_of({seed_zone("z1")}), local(1, 8), trial::kHot);
    cold.dry_out(0, 12);
    for (auto& hour : cold.weather())
        hour.air_temp_c = -2;
    CHECK(dry_spell(context_of(cold), cold.task(), cold.plan()[0])->obstacle == Obstacle::frost);
}

TEST_CASE("shortfall: a ban at midday is recognized, other hours are not") {
    garden::Supply supply;
    const auto banned = [&](std::vector<garden::HoursOfDay> hours) {
        supply.hours = std::move(hours);
        return banned_at_midday(supply);
    };
    CHECK(banned({{5 * 3600, 10 * 3600}, {18 * 3600, 21 * 3600}}));
    CHECK(banned({{0, 11 * 3600}, {16 * 3600, 86400}}));
    CHECK_FALSE(banned({{6 * 3600, 19 * 3600}}));
    CHECK_FALSE(banned({{5 * 3600, 12 * 3600}, {13 * 3600, 20 * 3600}}));
    CHECK_FALSE(banned({{5 * 3600, 10 * 3600}}));
}

TEST_CASE("shortfall: before a ban it wets later and deeper, after it before sunset") {
    // Nine o'clock, freshly watered: the morning's last run ends when the ban begins, or nearly.
    Planning planning(banned_garden(), local(1, 9), trial::kHot);
    const auto last = planning.plan()[0];
    REQUIRE(last.verdict == Verdict::run);
    CHECK(*last.start + Seconds{last.run_s + 120} >= local(1, 10));
    CHECK(*last.start + Seconds{last.run_s} <= local(1, 10));
    // Deeper than where the hours go on, at the same moment, in soils that feed from below.
    int deeper = 0;
    for (const auto texture : {soil::TextureClass::sandy_loam, soil::TextureClass::loam,
                               soil::TextureClass::silt_loam, soil::TextureClass::clay_loam}) {
        const auto dry_at_half_past_nine = [&](bool banned) {
            auto garden = banned ? banned_garden() : garden_of({});
            garden.zones = {seed_zone("z1", texture)};
            Planning dry(garden, local(1, 9, 30), trial::kMild);
            dry.dry_out(0, 12, trial::kHot);
            const auto plan = dry.plan()[0];
            CHECK(plan.start == local(1, 9, 30));
            return plan.run_s + plan.owed_s;
        };
        CHECK(dry_at_half_past_nine(true) >= dry_at_half_past_nine(false));
        deeper += dry_at_half_past_nine(true) > dry_at_half_past_nine(false);
    }
    CHECK(deeper >= 1);
    // In the afternoon the bed is dry: the first water is at 18:00, though the sun sets before
    // 20:00 and the evening limit would put it off until the next morning.
    Planning dry(banned_garden(), local(1, 14), trial::kHot);
    dry.dry_out(0, 10);
    CHECK(dry.plan()[0].start == local(1, 18));
}

TEST_CASE("shortfall: what is owed of a split run is given as far as it is still wanted") {
    Planning planning(garden_of({seed_zone("z1")}), local(1, 9));
    planning.task().owed_s = 3000;
    // Soaked an hour ago: nothing of it is.
    CHECK(planning.plan()[0].reason != Reason::rest_of_run);
    planning.dry_out(0, 16);
    const auto rest = planning.plan()[0];
    CHECK(rest.reason == Reason::rest_of_run);
    CHECK(rest.run_s + rest.owed_s > 0);
    CHECK(rest.run_s + rest.owed_s < 3000);
    planning.dry_out(0, 200);
    const auto whole = planning.plan()[0];
    CHECK(whole.run_s + whole.owed_s > rest.run_s + rest.owed_s);
    CHECK(whole.run_s + whole.owed_s <= 3000);
}
