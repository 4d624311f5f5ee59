// A person says when he will mow: the water keeps clear of it, never at the price of seed.
#include "engine/codec.hpp"
#include "watering/firm.hpp"

#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

constexpr Seconds kHourLong{3600};

// Water on the zone within [from, to), as it was given.
double seconds_open(const Rig& rig, WallTime from, WallTime to) {
    double sum = 0;
    for (const Cycle& cycle : rig.cycles()) {
        const auto begin = std::max(cycle.start, from);
        const auto end = std::min(cycle.end, to);
        if (begin < end) sum += static_cast<double>((end - begin).count());
    }
    return sum;
}

// Seedlings that wait for their first mow, at noon of day 36: lived once, and copied.
Rig seedlings() {
    static const Rig kGrown = [] {
        Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
        rig.run_to(local(36, 12));
        return rig;
    }();
    const turf::Progress& progress = kGrown.state.zones.at(0).settled.progress;
    REQUIRE(progress.phase == turf::Phase::seedling);
    REQUIRE(turf::needs(progress, kGrown.now).judge_root_zone);
    return kGrown;
}

std::vector<Decision> moved(const Rig& rig) {
    std::vector<Decision> found;
    for (const Decision& decision : trial::only<Decision>(rig.records))
        if (decision.reason == "mow_planned") found.push_back(decision);
    return found;
}

} // namespace

TEST_CASE("mow: what would be due in the hours before it comes sooner, and then nothing until it") {
    // The same days without a mow are watered in those hours, or this test would show nothing.
    Rig plain = seedlings();
    Rig rig = plain;
    int watered = 0;
    for (int day = 37; day < 42; ++day) {
        const WallTime mow = local(day, 18);
        const WallTime from = mow - watering::kFirmBefore;
        rig.run_to(local(day - 1, 15));
        rig.say({MowPlan{"z1", mow}});
        CHECK(rig.view().zones[0].mow_at == mow);
        CHECK(rig.view().zones[0].firm_from == from);
        rig.run_to(mow);
        plain.run_to(mow);
        watered += seconds_open(plain, from, mow) > 0;
        CHECK_EQ(seconds_open(rig, from, mow), 0);
        CHECK(rig.zone().mow_at == mow);
        // It is not dry at the mow, either: the water came before.
        CHECK(rig.view().zones[0].depletion < rig.view().zones[0].allowed_depletion + 0.15);
        rig.say({Observation{"z1", turf::ObservationKind::mown}});
        CHECK_FALSE(rig.zone().mow_at.has_value());
        if (rig.zone().settled.progress.first_mow) break;
    }
    CHECK(watered > 0);
    REQUIRE_FALSE(moved(rig).empty());
    CHECK(moved(rig)[0].explanation.find("it is to be mown at") != std::string::npos);
    CHECK(moved(rig)[0].explanation.find("firm ground") != std::string::npos);
}

TEST_CASE("mow: a run that cannot come sooner waits until it is done") {
    Rig rig = seedlings();
    // Told when the firm hours have begun already.
    rig.run_to(local(37, 6));
    const WallTime mow = local(37, 14);
    rig.say({MowPlan{"z1", mow}});
    const WallTime told = rig.now;
    rig.run_to(mow + kHourLong);
    CHECK_EQ(seconds_open(rig, told, rig.now), 0);
    rig.run_to(local(38, 12));
    CHECK(seconds_open(rig, told, rig.now) > 0);
}

TEST_CASE("mow: seed that is coming up is never let dry for it, and it is said") {
    garden::Zone zone = seed_zone("z1");
    zone.establishment.method = turf::Method::overseed;
    Rig rig{garden_of({zone}, 50), local(0, 5), trial::kHot};
    rig.run_to(local(9, 11));
    REQUIRE(turf::drying_kills(rig.zone().settled.progress));
    Rig plain = rig;
    const WallTime mow = local(9, 15);
    rig.say({MowPlan{"z1", mow}});
    CHECK(rig.notices("mow_planned").back().text.find("unless the seedbed would dry") !=
          std::string::npos);
    for (; rig.now < local(10, 5); rig.run_for(Seconds{900})) {
        const ZoneView seen = rig.view().zones[0];
        CHECK(seen.low_quarter_kpa > seen.threshold_kpa);
    }
    plain.run_to(rig.now);
    CHECK(turf::stand_of(rig.zone().settled.progress).alive_driest_quarter >=
          turf::stand_of(plain.zone().settled.progress).alive_driest_quarter - 1e-9);
    // What can be had is had: less water in the last three hours than without the mow.
    const WallTime from = mow - watering::kFirmBeforeDamp;
    CHECK(seconds_open(rig, from, mow) <= seconds_open(plain, from, mow));
}

TEST_CASE("mow: it is taken back by nothing, by a report, and by time") {
    Rig rig = seedlings();
    const WallTime mow = local(37, 14);
    rig.say({MowPlan{"z1", mow}});
    CHECK(rig.zone().mow_at == mow);
    rig.say({MowPlan{"z1", std::nullopt}});
    CHECK_FALSE(rig.zone().mow_at.has_value());
    CHECK_EQ(rig.notices("mow_not_planned").size(), 1);
    rig.say({MowPlan{"z1", mow}, Observation{"z1", turf::ObservationKind::first_mow}});
    CHECK_FALSE(rig.zone().mow_at.has_value());
    rig.say({MowPlan{"z1", mow}});
    rig.run_to(mow + watering::kMowTakes + kHourLong);
    CHECK_FALSE(rig.zone().mow_at.has_value());
    CHECK_EQ(rig.notices("mow_not_reported").size(), 1);
}

TEST_CASE(
    "mow: the past and the far future are refused with a reason, an unknown zone with a word") {
    Rig rig = seedlings();
    const Moment now{rig.now, rig.mono};
    const auto refused = [&](Seconds ahead) {
        return refusal(rig.setup, rig.state, now, MowPlan{"z1", rig.now + ahead});
    };
    CHECK(refused(-kHourLong).has_value());
    CHECK(refused(Seconds{15 * 86400}).has_value());
    CHECK_FALSE(refused(kHourLong).has_value());
    CHECK_FALSE(refusal(rig.setup, rig.state, now, MowPlan{"z1", std::nullopt}).has_value());
    rig.say({MowPlan{"nowhere", rig.now + kHourLong}});
    CHECK_EQ(rig.notices("unknown_zone").size(), 1);
}

TEST_CASE("mow: a person's own order still runs, and what a person saw dry is watered") {
    Rig rig = seedlings();
    rig.run_to(local(37, 8));
    rig.say({MowPlan{"z1", local(37, 14)}});
    const WallTime told = rig.now;
    rig.say({WaterOrder{"z1", 300}});
    rig.run_for(Seconds{900});
    CHECK_EQ(seconds_open(rig, told, rig.now), 300);
    rig.run_to(local(37, 11));
    const WallTime seen = rig.now;
    rig.say({Observation{"z1", turf::ObservationKind::surface_dry}});
    rig.run_for(kHourLong);
    CHECK(seconds_open(rig, seen, rig.now) > 0);
}

TEST_CASE("mow: as anybody's last word it can be taken back, and so can the report that ended it") {
    Rig rig = seedlings();
    const WallTime mow = local(37, 14);
    rig.say({MowPlan{"z1", mow}});
    const auto word = rig.view().zones[0].word;
    REQUIRE(word.has_value());
    CHECK(word->text.find("is to be mown at") != std::string::npos);
    rig.say({WordUndo{"z1", word->number}});
    CHECK_FALSE(rig.zone().mow_at.has_value());
    // Taking back a word on it brings the one before.
    rig.say({MowPlan{"z1", mow}, MowPlan{"z1", std::nullopt}});
    rig.say({WordUndo{"z1", rig.view().zones[0].word->number}});
    CHECK(rig.zone().mow_at == mow);
    rig.say({Observation{"z1", turf::ObservationKind::mown}});
    CHECK_FALSE(rig.zone().mow_at.has_value());
    rig.say({WordUndo{"z1", rig.view().zones[0].word->number}});
    CHECK(rig.zone().mow_at == mow);
    CHECK(decode_state(rig.setup, encode_state(rig.setup, rig.state)).value() == rig.state);
}
