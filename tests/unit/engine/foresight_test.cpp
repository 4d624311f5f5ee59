#include "engine/foresight.hpp"

#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

constexpr Seconds kDay{24 * 3600};

Foresight look(const Rig& rig, std::vector<Input> first = {}) {
    return foresee(rig.setup, rig.state, {rig.now, rig.mono}, kDay, first);
}

} // namespace

TEST_CASE("foresight: when the weather comes as forecast, every run comes as foreseen") {
    Rig rig(garden_of({seed_zone("z1"), seed_zone("z2")}, 25));
    rig.run_to(local(2, 7));
    rig.records.clear();
    const State before = rig.state;
    const Foresight seen = look(rig);
    CHECK(rig.state == before);
    REQUIRE(seen.zones.size() == 2);
    rig.run_for(kDay);
    for (const ZoneForesight& zone : seen.zones) {
        std::vector<PlannedRun> given;
        for (const Decision& d : trial::only<Decision>(rig.records))
            if (d.zone == zone.zone && d.verdict == Verdict::run && d.time < seen.until)
                given.push_back({d.time, d.run_s, d.reason});
        CHECK(given.size() >= 3);
        REQUIRE(zone.runs.size() == given.size());
        for (std::size_t i = 0; i < given.size(); ++i) {
            CHECK(zone.runs[i].start == given[i].start);
            CHECK(zone.runs[i].run_s == given[i].run_s);
            CHECK(zone.runs[i].reason == given[i].reason);
        }
        // And the wetness that goes with them.
        std::size_t compared = 0;
        for (const Moisture& line : trial::only<Moisture>(rig.records))
            for (const CoursePoint& point : zone.course)
                if (line.zone == zone.zone && line.time == point.time) {
                    CHECK(line.low_quarter_kpa == doctest::Approx(point.low_quarter_kpa));
                    ++compared;
                }
        CHECK(compared >= 45);
    }
}

TEST_CASE("foresight: an order shows what would come of it") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.run_to(local(2, 12));
    while (rig.zone().open) // an order waits for a run that is on its way
        rig.run_for(Seconds{60});
    const Foresight without = look(rig);
    const Foresight with = look(rig, {WaterOrder{"z1", 1200}});
    REQUIRE(!without.zones[0].runs.empty());
    REQUIRE(with.zones[0].runs.size() >= 2);
    CHECK(with.zones[0].runs[0].reason == "person");
    CHECK(with.zones[0].runs[0].start == rig.now);
    CHECK(with.zones[0].runs[1].start > without.zones[0].runs[0].start);
    const Foresight held = look(rig, {HoldOrder{"z1", rig.now + kDay}});
    CHECK(held.zones[0].runs.empty());
    REQUIRE(held.zones[0].dry_from);
    CHECK(held.zones[0].lowest_kpa < -100);
}

TEST_CASE("foresight: an open valve is closed on the way, and a season may begin on it") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.run_to(local(2, 12));
    rig.say({WaterOrder{"z1", 1200}});
    REQUIRE(rig.open["z1"]);
    CHECK(!look(rig).zones[0].runs.empty());

    const Rig unbegun(garden_of({seed_zone("z1")}));
    CHECK(!foresee(unbegun.setup, unbegun.state, {local(0, 5), unbegun.mono}, kDay)
               .zones[0]
               .runs.empty());
}

TEST_CASE("foresight: the view takes what still lies ahead of it") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.run_to(local(2, 7));
    const Foresight seen = look(rig);
    GardenView view = rig.view();
    put_into(view, seen);
    CHECK(view.zones[0].planned.size() == seen.zones[0].runs.size());
    CHECK(view.zones[0].outlook.size() >= 46);

    view.time = seen.zones[0].runs[0].start + Seconds{1};
    put_into(view, seen);
    CHECK(view.zones[0].planned.size() == seen.zones[0].runs.size() - 1);
    CHECK(view.zones[0].outlook.front().time > view.time);

    GardenView other = rig.view();
    other.zones[0].id = "another";
    put_into(other, seen);
    CHECK(other.zones[0].planned.empty());
}
