// What the engine says of the grass: dates, lessons, advice, losses.
#include "engine/growth.hpp"

#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

// A bed sown on the first day, its first days passed in good weather.
Rig sown(int days, turf::Method method = turf::Method::seed) {
    garden::Zone zone = seed_zone("z1");
    zone.establishment.method = method;
    Rig rig{garden_of({zone}, 50), local(0, 5)};
    rig.run_for(Seconds{86400} * days);
    return rig;
}

// Noon there.
WallTime local_time(const char* date) {
    return trial::local_zone().to_wall(parse_date(date).value(), 12 * 3600);
}

const turf::SpeciesProgress& quickest(const Rig& rig) {
    const turf::Progress& progress = rig.state.zones[0].settled.progress;
    const turf::SpeciesProgress* found = &progress.species.front();
    for (const turf::SpeciesProgress& species : progress.species)
        if (turf::traits(species.species).thermal_time_cd <
            turf::traits(found->species).thermal_time_cd)
            found = &species;
    return *found;
}

} // namespace

TEST_CASE("growth: a zone shows its dates, stand and what to mow from the first day") {
    Rig rig = sown(1);
    const ZoneView zone = rig.view().zones[0];
    CHECK_FALSE(zone.growth.empty());
    CHECK(zone.growth.find("all up") != std::string::npos);
    CHECK_EQ(zone.prospect.species.size(), rig.setup.garden.zones[0].establishment.mix.size());
    REQUIRE(zone.prospect.all_up.late.has_value());
    CHECK(*zone.prospect.all_up.early > rig.now);
    CHECK(*zone.prospect.all_up.early < *zone.prospect.all_up.late);
    CHECK_EQ(zone.stand.alive, 1);
    CHECK(zone.mow.due == turf::Mow::none);
    CHECK(zone.keep_off_until == zone.prospect.first_mow.likely);
    // The same state, the same dates.
    CHECK(rig.view().zones[0].prospect.all_up == zone.prospect.all_up);
}

TEST_CASE(
    "growth: orders and valves do not move the dates, so a view may be given those of before") {
    Rig rig = sown(3);
    const auto before = prospects(rig.setup, rig.state, rig.now);
    REQUIRE_EQ(before.size(), rig.state.zones.size());
    rig.say({WaterOrder{"z1", 300}});
    REQUIRE(rig.view().zones[0].valve_open);
    const auto after = prospects(rig.setup, rig.state, rig.now);
    CHECK(after[0].all_up == before[0].all_up);
    CHECK(after[0].first_mow == before[0].first_mow);
    const GardenView kept = engine::view(rig.setup, rig.state, {rig.now, rig.mono}, before);
    CHECK_EQ(kept.zones[0].growth, rig.view().zones[0].growth);
    CHECK(kept.zones[0].prospect.all_up == before[0].all_up);
    // Those of another garden are of no use.
    const GardenView reckoned =
        engine::view(rig.setup, rig.state, {rig.now, rig.mono}, std::vector<turf::Prospect>(7));
    CHECK(reckoned.zones[0].prospect.all_up == before[0].all_up);
}

TEST_CASE("growth: the soil ahead follows the forecast and then the year, with growing doubt") {
    Rig rig = sown(3);
    const auto days = soil_ahead(rig.setup, rig.state, rig.zone().settled.progress, rig.now);
    REQUIRE(days.size() > 200);
    CHECK(days[0].doubt_c < 1);
    CHECK(days[100].doubt_c > 2);
    CHECK(std::abs(days[0].mean_c - *rig.zone().settled.progress.soil_mean_c) < 2);
    CHECK(days[0].swing_c > 1);
    // Half a year from August it is winter.
    CHECK(days[150].mean_c < days[0].mean_c - 8);
}

TEST_CASE("growth: what a report taught is on the record, before and after") {
    Rig rig = sown(4);
    const turf::Prospect before = rig.view().zones[0].prospect;
    rig.say({Observation{"z1", turf::ObservationKind::nothing_yet}});
    for (int day = 0; day < 5; ++day) {
        rig.run_for(Seconds{86400});
        rig.say({Observation{"z1", turf::ObservationKind::nothing_yet}});
    }
    const auto lessons = rig.notices("lot_learned");
    REQUIRE_FALSE(lessons.empty());
    CHECK(lessons.back().text.find("slower than the book (before: ") != std::string::npos);
    const turf::Prospect after = rig.view().zones[0].prospect;
    const std::string dates =
        "All up " + when_words(after.all_up, rig.setup.timezone) + " (before:";
    CHECK_MESSAGE(lessons.back().text.find(dates) != std::string::npos, lessons.back().text);
    CHECK(quickest(rig).slowness > 1.05);
    CHECK(*after.first_green.late > *before.first_green.late);
}

TEST_CASE("growth: days are told as people say them, a range only where there is one") {
    const TimeZone local = trial::local_zone();
    const turf::When sure{local_time("2026-09-15"), local_time("2026-09-15"),
                          local_time("2026-09-15")};
    CHECK_EQ(when_words(sure, local), "Tue 15 Sep");
    const turf::When likely{local_time("2026-12-28"), local_time("2026-12-30"),
                            local_time("2027-01-03")};
    CHECK_EQ(when_words(likely, local), "Mon 28 Dec to Sun 3 Jan");
    const turf::When open{local_time("2026-12-28"), std::nullopt, std::nullopt};
    CHECK_EQ(when_words(open, local), "not before Mon 28 Dec");
    CHECK_EQ(when_words({}, local), "not within the months ahead");
}

TEST_CASE("growth: green on the first day is taken for weeds, and said so") {
    Rig rig = sown(0);
    rig.run_for(Seconds{6 * 3600});
    rig.say({Observation{"z1", turf::ObservationKind::seedlings_seen}});
    CHECK_EQ(rig.notices("green_too_soon").size(), 1);
    CHECK_FALSE(rig.zone().settled.progress.seedlings_seen.has_value());
}

TEST_CASE("growth: a person is told once to look, to mow, and when walking is fine") {
    Rig rig = sown(45);
    CHECK_EQ(rig.notices("look_for_green").size(), 1);
    CHECK_EQ(rig.notices("first_mow_due").size(), 1);
    CHECK(rig.notices("light_use").empty());
    CHECK(rig.view().zones[0].mow.due == turf::Mow::first);
    rig.say({Observation{"z1", turf::ObservationKind::first_mow}});
    CHECK(rig.view().zones[0].mow.due == turf::Mow::none);
    rig.run_for(Seconds{86400} * 20);
    CHECK_EQ(rig.notices("light_use").size(), 1);
    CHECK_EQ(rig.notices("first_mow_due").size(), 1);
}

TEST_CASE("growth: standing turf is to be mown again and again, and a first mow is not mistaken") {
    Rig rig = sown(12, turf::Method::overseed);
    CHECK_EQ(rig.notices("mow_standing_turf").size(), 1);
    rig.say({Observation{"z1", turf::ObservationKind::first_mow}});
    CHECK_EQ(rig.notices("standing_turf_mown").size(), 1);
    CHECK_FALSE(rig.zone().settled.progress.first_mow.has_value());
    rig.run_for(Seconds{86400} * 12);
    CHECK_EQ(rig.notices("mow_standing_turf").size(), 2);
}

TEST_CASE("growth: sod is to be tugged at, and rests for three weeks") {
    Rig rig = sown(17, turf::Method::sod);
    CHECK_EQ(rig.notices("tug_test").size(), 1);
    const ZoneView zone = rig.view().zones[0];
    CHECK(zone.growth.find("Resists a tug") == 0);
    CHECK(zone.keep_off_until == rig.zone().settled.progress.sown.value() + Seconds{21 * 86400});
    rig.say({Observation{"z1", turf::ObservationKind::rooted}});
    rig.run_for(Seconds{86400} * 10);
    CHECK_EQ(rig.notices("light_use").size(), 1);
}

TEST_CASE("growth: a valve that stays shut costs the stand, and it is said") {
    Rig rig = sown(8);
    rig.say({HoldOrder{"z1", rig.now + Seconds{86400} * 2}});
    rig.run_for(Seconds{86400} * 2);
    const ZoneView zone = rig.view().zones[0];
    CHECK(zone.stand.alive_driest_quarter < 0.9);
    CHECK(zone.stand.alive_driest_quarter <= zone.stand.alive);
    CHECK_FALSE(rig.notices("stand_lost").empty());
    CHECK(zone.growth.find("in the driest quarter") != std::string::npos);
}
