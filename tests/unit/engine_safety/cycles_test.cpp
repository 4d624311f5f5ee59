#include "rig.hpp"

#include <set>

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::only;
using trial::Rig;
using trial::seed_zone;

namespace {

// At nine on the day after the sowing: soaked, the planner at rest.
Rig bench(std::vector<garden::Zone> zones, double flow = 25) {
    Rig rig(garden_of(std::move(zones), flow));
    rig.run_to(local(0, 21));
    rig.records.clear();
    rig.commands.clear();
    return rig;
}

std::optional<ValveReport> silent(const std::string&, bool) {
    return std::nullopt;
}

} // namespace

TEST_CASE("cycles: an order opens the valve, runs its time, and is written down once") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    REQUIRE(rig.zone().open);
    CHECK(rig.zone().open->stage == OpenCycle::Stage::running);
    CHECK(std::get<OpenValve>(rig.commands.at(0)).lease == Seconds{605});
    CHECK(rig.cycles().empty());
    const WallTime opened = rig.now;
    rig.run_for(Seconds{599});
    CHECK(rig.open["z1"]);
    rig.run_for(Seconds{1});
    CHECK_FALSE(rig.open["z1"]);
    rig.run_for(Seconds{3600});
    REQUIRE(rig.cycles().size() == 1);
    const Cycle c = rig.cycles()[0];
    CHECK(c.zone == "z1");
    CHECK(c.start == opened);
    CHECK(c.end == opened + Seconds{600});
    CHECK(c.planned_s == 600);
    CHECK(c.run_s == 600);
    CHECK(c.depth_mm == doctest::Approx(2.0));
    CHECK(c.volume_l == doctest::Approx(200.0));
    CHECK(c.reason == "person");
    CHECK(c.outcome == Outcome::completed);
}

TEST_CASE("cycles: lengths are measured on the clock that never jumps") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    rig.now += Seconds{1800}; // the wall clock is set forward
    rig.say();
    CHECK(rig.open["z1"]);
    rig.now -= Seconds{1800};
    rig.pass(Seconds{600});
    rig.say();
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 600);
}

TEST_CASE("cycles: the wall clock may be set back behind the weather that is known") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    for (const int back_h : {1, 3, 48}) {
        rig.now -= Seconds{back_h * 3600};
        rig.say();
        CHECK(rig.view().zones.size() == 1);
    }
    rig.pass(Seconds{600});
    rig.say();
    CHECK_FALSE(rig.open["z1"]);
    CHECK(rig.cycles().size() == 1);
}

TEST_CASE("cycles: a valve that never answers: alarm, back-off, and asked to close") {
    Rig rig = bench({seed_zone("z1")});
    rig.valve = silent;
    rig.say({WaterOrder{"z1", 600}});
    REQUIRE(rig.zone().open);
    rig.run_for(Seconds{5});
    CHECK_FALSE(rig.zone().open);
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::failed);
    CHECK(rig.cycles()[0].run_s == 0);
    CHECK(rig.notices("valve_fault").size() == 1);
    CHECK(rig.notices("valve_fault")[0].severity == Severity::alarm);
    CHECK(std::holds_alternative<CloseValve>(rig.commands.back()));
    CHECK(rig.zone().not_before == rig.now + Seconds{600});
    CHECK(rig.zone().last_wetted < rig.now); // it was not wetted
}

TEST_CASE("cycles: a valve that stays dumb is tried ever more rarely, and works again") {
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5), trial::kHot);
    rig.valve = silent;
    rig.run_to(local(2, 0));
    const auto tries = rig.openings();
    CHECK(tries >= 3);
    CHECK(tries <= 14);
    CHECK(rig.notices("valve_fault").size() == tries);
    for (const Cycle& c : rig.cycles())
        CHECK(c.run_s == 0);
    rig.valve = nullptr;
    rig.run_to(local(3, 0));
    CHECK(rig.cycles().back().outcome == Outcome::completed);
    CHECK(rig.zone().faults == 0);
}

TEST_CASE("cycles: a first soak that the valve refused is still owed") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.valve = silent;
    rig.run_to(local(0, 6, 10));
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].reason == "first_soak");
    rig.valve = nullptr;
    rig.run_to(local(0, 8));
    REQUIRE(rig.cycles().size() >= 2);
    CHECK(rig.cycles()[1].reason == "first_soak");
    CHECK(rig.cycles()[1].run_s > 0);
}

TEST_CASE("cycles: a valve that does not answer the close is asked again, and the alarms are few") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 60}});
    rig.valve = silent;
    rig.run_for(Seconds{60 + 3600});
    REQUIRE(rig.zone().open);
    CHECK(rig.zone().open->stage == OpenCycle::Stage::closing);
    std::size_t closes = 0;
    for (const auto& command : rig.commands)
        closes += std::holds_alternative<CloseValve>(command);
    CHECK(closes > 100); // asked every few seconds
    CHECK(rig.notices("valve_silent").size() >= 1);
    CHECK(rig.notices("valve_silent").size() <= 12);
    rig.valve = nullptr;
    rig.run_for(Seconds{10});
    CHECK_FALSE(rig.zone().open);
    REQUIRE(rig.cycles().size() == 1);
    // It ran until it answered: the budget must know of all that water.
    CHECK(rig.cycles()[0].run_s >= 3600);
    CHECK(rig.cycles()[0].outcome == Outcome::completed);
}

TEST_CASE("cycles: a fault while opening and a fault while running") {
    Rig rig = bench({seed_zone("z1")});
    rig.valve = [](const std::string& zone, bool open) -> std::optional<ValveReport> {
        if (open) return ValveReport{zone, false, true, "coil open"};
        return ValveReport{zone, false, false, ""};
    };
    rig.say({WaterOrder{"z1", 600}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::failed);
    CHECK(rig.cycles()[0].run_s == 0);
    CHECK(rig.notices("valve_fault")[0].text.find("coil open") != std::string::npos);
    rig.valve = nullptr;
    rig.say({WaterOrder{"z1", 600}}); // a person's order does not wait for the back-off
    rig.run_for(Seconds{100});
    rig.say({ValveReport{"z1", false, true, "line cut"}});
    REQUIRE(rig.cycles().size() == 2);
    CHECK(rig.cycles()[1].outcome == Outcome::failed);
    CHECK(rig.cycles()[1].run_s == 100);
    CHECK(rig.cycles()[1].depth_mm == doctest::Approx(100 * 12 / 3600.0));
}

TEST_CASE("cycles: a valve that closed by itself is written down as interrupted") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    rig.run_for(Seconds{200});
    rig.say({ValveReport{"z1", false, false, ""}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::interrupted);
    CHECK(rig.cycles()[0].run_s == 200);
}

TEST_CASE("cycles: a closing that is told late ends the run when it was, not when it was told") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    const MonoTime opened = rig.state.zones[0].open->mono_start;
    rig.pass(Seconds{300}); // the program stood still; the valve's keeper did not
    rig.say({ValveReport{"z1", false, true, "nothing was heard", opened + Seconds{10}}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 10);
    CHECK(rig.cycles()[0].outcome == Outcome::failed);
    // A time that cannot be is bounded by what is known.
    rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    rig.pass(Seconds{60});
    rig.say({ValveReport{"z1", false, false, "", opened - Seconds{3600}}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 0);
}

TEST_CASE("cycles: a valve found open that nobody opened is closed") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({ValveReport{"z1", true, false, ""}});
    REQUIRE(rig.commands.size() == 1);
    CHECK(std::get<CloseValve>(rig.commands[0]).zone == "z1");
    CHECK(rig.notices("valve_open_unasked").size() == 1);
    CHECK(rig.cycles().empty());
}

TEST_CASE("cycles: a valve stuck open does not make engine and driver shout at each other") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 60}});
    rig.valve = [](const std::string& zone, bool open) -> std::optional<ValveReport> {
        return ValveReport{zone, true, !open, open ? "" : "stuck"};
    };
    rig.run_for(Seconds{3600}); // say() fails when they never come to rest
    CHECK(rig.notices("valve_stuck").size() >= 3);
    CHECK(only<Notice>(rig.records).size() <= 15);
    REQUIRE(rig.zone().open); // water runs: the tap's flow stays taken
    std::size_t closes = 0;
    for (const auto& command : rig.commands)
        closes += std::holds_alternative<CloseValve>(command);
    CHECK(closes > 100);
    rig.valve = nullptr;
    rig.run_for(Seconds{10});
    CHECK_FALSE(rig.zone().open);
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::failed);
    CHECK(rig.cycles()[0].run_s >= 3600);
    CHECK(rig.zone().not_before > rig.now);
}

TEST_CASE("cycles: a valve stuck open since before the start is asked until it closes") {
    Rig rig = bench({seed_zone("z1")});
    rig.valve = [](const std::string& zone, bool) -> std::optional<ValveReport> {
        return ValveReport{zone, true, true, "stuck"};
    };
    rig.say({Restarted{}});
    rig.run_for(Seconds{600});
    CHECK(rig.notices("valve_open_unasked").size() == 1);
    REQUIRE(rig.zone().open);
    rig.valve = nullptr;
    rig.run_for(Seconds{10});
    CHECK_FALSE(rig.zone().open);
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s >= 600); // that much water is known of
}

TEST_CASE("cycles: a person's minute does not stand for the first soak") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.say({WaterOrder{"z1", 60}});
    rig.run_to(local(0, 8));
    REQUIRE(rig.cycles().size() >= 2);
    CHECK(rig.cycles()[0].reason == "person");
    CHECK(rig.cycles()[1].reason == "first_soak");
}

TEST_CASE("cycles: a late 'closed' does not end an opening that was just asked for") {
    // The answer to an older close arrives after the new opening went out.
    Rig rig = bench({seed_zone("z1")});
    rig.tell({WaterOrder{"z1", 600}});
    REQUIRE(rig.zone().open);
    rig.say({ValveReport{"z1", false, false, ""}, ValveReport{"z1", true, false, ""}});
    REQUIRE(rig.zone().open);
    CHECK(rig.zone().open->stage == OpenCycle::Stage::running);
    CHECK(rig.notices("valve_open_unasked").empty());
    CHECK(rig.cycles().empty());
}

TEST_CASE("cycles: stop one, stop all") {
    Rig rig = bench({seed_zone("z1"), seed_zone("z2")}, 50);
    rig.say({WaterOrder{"z1", 600}, WaterOrder{"z2", 900}});
    CHECK(rig.open["z1"]);
    CHECK(rig.open["z2"]);
    rig.run_for(Seconds{60});
    rig.say({StopOrder{"z1"}});
    CHECK_FALSE(rig.open["z1"]);
    CHECK(rig.open["z2"]);
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::stopped);
    CHECK(rig.cycles()[0].run_s == 60);
    rig.run_for(Seconds{60});
    rig.say({StopOrder{}});
    CHECK_FALSE(rig.open["z2"]);
    REQUIRE(rig.cycles().size() == 2);
    CHECK(rig.cycles()[1].run_s == 120);
    CHECK(rig.notices("all_stopped").size() == 1);
    // And it stays closed: an order that waits is dropped too.
    rig.say({WaterOrder{"z1", 60}, StopOrder{}});
    rig.run_for(Seconds{1800});
    CHECK(rig.cycles().size() == 2);
}

TEST_CASE(
    "cycles: a stop before the valve has answered counts no water, not even after a restart") {
    Rig rig = bench({seed_zone("z1")});
    rig.valve = silent;
    rig.say({WaterOrder{"z1", 600}});
    rig.pass(Seconds{2});
    rig.say({StopOrder{"z1"}});
    rig.pass(Seconds{300});
    rig.valve = nullptr;
    rig.say({Restarted{}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 0);
}

TEST_CASE("cycles: a person's order runs in a hold and in the night, a plan does not") {
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5), trial::kHot);
    rig.say({HoldOrder{"z1", local(1, 12)}});
    rig.run_to(local(0, 22));
    CHECK(rig.cycles().empty());
    CHECK(rig.view().zones[0].hold_until == local(1, 12));
    rig.say({WaterOrder{"z1", 300}});
    rig.run_for(Seconds{301});
    REQUIRE(rig.cycles().size() == 1);
    rig.run_to(local(1, 9));
    CHECK(rig.cycles().size() == 1);
    // Released: it is watered at once, for it has long been dry.
    rig.say({HoldRelease{"z1"}});
    CHECK(rig.open["z1"]);
    CHECK_FALSE(rig.view().zones[0].hold_until);
}

TEST_CASE("cycles: a hold ends a planned run and leaves a person's alone") {
    Rig rig(garden_of({seed_zone("z1")}));
    rig.run_to(local(0, 6, 1));
    REQUIRE(rig.open["z1"]); // the first soak
    rig.say({HoldOrder{"z1", local(0, 12)}});
    CHECK_FALSE(rig.open["z1"]);
    CHECK(rig.cycles().at(0).outcome == Outcome::stopped);
    rig.say({WaterOrder{"z1", 600}});
    rig.say({HoldOrder{"z1", local(0, 13)}});
    CHECK(rig.open["z1"]);
}

TEST_CASE("cycles: orders wait for the tap, and never ask more of it than it gives") {
    Rig rig = bench({seed_zone("z1"), seed_zone("z2"), seed_zone("z3")}, 25);
    rig.say({WaterOrder{"z1", 300}, WaterOrder{"z2", 300}, WaterOrder{"z3", 300}});
    CHECK(rig.open["z1"]);
    CHECK_FALSE(rig.open["z2"]);
    rig.run_for(Seconds{1200});
    const auto cycles = rig.cycles();
    REQUIRE(cycles.size() == 3);
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(cycles[i].run_s == 300);
        if (i > 0) CHECK(cycles[i].start >= cycles[i - 1].end);
    }
}

TEST_CASE("cycles: an order to a zone that runs lets it run on for so long from now") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 300}});
    rig.run_for(Seconds{200});
    rig.say({WaterOrder{"z1", 600}});
    CHECK(std::get<OpenValve>(rig.commands.back()).lease == Seconds{605});
    rig.run_for(Seconds{599});
    CHECK(rig.open["z1"]);
    rig.run_for(Seconds{1});
    CHECK_FALSE(rig.open["z1"]);
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 800);
    CHECK(rig.cycles()[0].planned_s == 800);
}

TEST_CASE("cycles: a restart closes every valve first and ends what was open") {
    Rig rig = bench({seed_zone("z1"), seed_zone("z2")}, 50);
    rig.say({WaterOrder{"z1", 600}});
    rig.run_for(Seconds{120});
    rig.pass(Seconds{60}); // nobody knows when in this minute it closed
    rig.mono = MonoTime{Millis{1000}};
    rig.commands.clear();
    rig.say({Restarted{}});
    REQUIRE(rig.commands.size() >= 2);
    CHECK(std::get<CloseValve>(rig.commands[0]).zone == "z1");
    CHECK(std::get<CloseValve>(rig.commands[1]).zone == "z2");
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].outcome == Outcome::interrupted);
    CHECK(rig.cycles()[0].run_s == 180);
    rig.run_for(Seconds{3600});
    CHECK(rig.cycles().size() == 1);
    CHECK_FALSE(rig.zone().open);
}

TEST_CASE("cycles: after a long outage no more is counted than was planned") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"z1", 600}});
    rig.pass(Seconds{2 * 3600});
    rig.say({Restarted{}});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(rig.cycles()[0].run_s == 600);
}

TEST_CASE("cycles: a restart when a run is due closes first, then opens, without an alarm") {
    Rig rig(garden_of({seed_zone("z1")}), local(0, 5, 30));
    rig.run_to(local(0, 5, 59));
    rig.pass(Seconds{120});
    rig.commands.clear();
    rig.say({Restarted{}});
    REQUIRE(rig.commands.size() == 2);
    CHECK(std::holds_alternative<CloseValve>(rig.commands[0]));
    CHECK(std::holds_alternative<OpenValve>(rig.commands[1]));
    CHECK(rig.open["z1"]);
    REQUIRE(rig.zone().open);
    CHECK(rig.zone().open->stage == OpenCycle::Stage::running);
    CHECK(rig.notices("valve_open_unasked").empty());
    CHECK(rig.cycles().empty());
}

TEST_CASE("cycles: words about a zone that the garden does not have are noted, no more") {
    Rig rig = bench({seed_zone("z1")});
    rig.say({WaterOrder{"nowhere", 600}, StopOrder{"nowhere"}, HoldOrder{"nowhere", local(3, 0)},
             HoldRelease{"nowhere"}, Observation{"nowhere", turf::ObservationKind::puddling},
             ValveReport{"nowhere", true, false, ""}});
    CHECK(rig.commands.empty());
    CHECK(rig.notices("unknown_zone").size() == 6);
}

TEST_CASE("cycles: what people report") {
    Rig rig = bench({seed_zone("z1")});
    rig.run_to(local(1, 9));
    rig.say({StopOrder{}}); // a rest, so that nothing else is planned soon
    rig.say({Observation{"z1", turf::ObservationKind::surface_dry}});
    CHECK(rig.open["z1"]);
    CHECK(rig.zone().open->reason == "reported_dry");
    rig.say({Observation{"z1", turf::ObservationKind::puddling}});
    CHECK_FALSE(rig.open["z1"]);
    CHECK(rig.zone().not_before >= rig.now + Seconds{4 * 3600});
    const auto before = rig.openings();
    rig.run_for(Seconds{4 * 3600 - 60});
    CHECK(rig.openings() == before);
}

TEST_CASE("cycles: ids count up, whatever becomes of the openings") {
    Rig rig(garden_of({seed_zone("z1"), seed_zone("z2")}, 50), local(0, 5), trial::kHot);
    int asked = 0;
    rig.valve = [&](const std::string& zone, bool open) -> std::optional<ValveReport> {
        if (open && ++asked % 3 == 0) return std::nullopt;
        return ValveReport{zone, open, false, ""};
    };
    rig.run_to(local(2, 0));
    std::set<std::int64_t> ids;
    for (const Cycle& c : rig.cycles())
        CHECK(ids.insert(c.id).second);
    REQUIRE_FALSE(ids.empty());
    CHECK(*ids.begin() == 1);
    CHECK(*ids.rbegin() == static_cast<std::int64_t>(ids.size()));
}
