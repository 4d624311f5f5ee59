// A season is followed by its runs: the budget is the same to the last bit, whoever decided.
#include "engine/follow.hpp"

#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

struct Told {
    Moment at;
    std::vector<Input> inputs;
};

// A season in which everything that came in was written down.
struct Season {
    Rig rig{garden_of({seed_zone("z1"), seed_zone("z2", soil::TextureClass::sand)}, 50),
            local(0, 5), trial::kHot};
    std::vector<Told> told;

    void step(std::vector<Input> inputs) {
        while (true) {
            told.push_back({{rig.now, rig.mono}, inputs});
            const auto given = rig.tell(inputs);
            inputs.clear();
            for (const Command& command : given) {
                const auto* const open = std::get_if<OpenValve>(&command);
                const std::string& zone =
                    open != nullptr ? open->zone : std::get<CloseValve>(command).zone;
                inputs.emplace_back(ValveReport{zone, open != nullptr, false, ""});
            }
            if (inputs.empty()) return;
        }
    }
    void run_to(WallTime until) {
        step(rig.weather());
        while (rig.now < until) {
            rig.pass(Seconds{60});
            step(rig.weather());
        }
    }
};

State followed(const Setup& setup, const std::vector<Told>& told,
               const std::vector<Cycle>& cycles) {
    State state = initial_state(setup);
    Follower follower(cycles);
    for (const Told& one : told)
        follower.step(setup, state, one.at, one.inputs);
    return state;
}

void same_budget(const State& a, const State& b) {
    CHECK(a.settled_until == b.settled_until);
    REQUIRE(a.zones.size() == b.zones.size());
    for (std::size_t i = 0; i < a.zones.size(); ++i) {
        CAPTURE(i);
        CHECK(a.zones[i].settled == b.zones[i].settled);
        CHECK(a.zones[i].applied == b.zones[i].applied);
        CHECK(a.zones[i].estimate == b.zones[i].estimate);
        CHECK(a.zones[i].last_wetted == b.zones[i].last_wetted);
        CHECK(a.zones[i].soaked == b.zones[i].soaked);
        CHECK(a.zones[i].hold_until == b.zones[i].hold_until);
        CHECK(a.zones[i].day_mm == doctest::Approx(b.zones[i].day_mm));
        CHECK(a.zones[i].guard.poured.size() == b.zones[i].guard.poured.size());
    }
    CHECK(a.next_cycle_id == b.next_cycle_id);
}

Season& season() {
    static Season one = [] {
        Season s;
        s.run_to(local(0, 14));
        s.step({WaterOrder{"z1", 900}});
        s.run_to(local(1, 9));
        s.step({Observation{"z2", turf::ObservationKind::surface_dry}});
        s.run_to(local(1, 13));
        s.step({CatchCanTest{"z1", {{1, 2, 1.5, 1.2}, 10}}, HoldOrder{"z2", local(4, 0)}});
        s.run_to(local(3, 5));
        return s;
    }();
    return one;
}

} // namespace

TEST_CASE("follow: the same runs make the same ground, to the last bit") {
    Season& s = season();
    const auto cycles = s.rig.cycles();
    REQUIRE(cycles.size() >= 8);
    for (const ZoneRuntime& z : s.rig.state.zones)
        REQUIRE_FALSE(z.open.has_value());
    same_budget(followed(s.rig.setup, s.told, cycles), s.rig.state);
}

TEST_CASE("follow: from a state kept on the way, also while a valve was open") {
    Season first;
    first.run_to(local(0, 12));
    while (!first.rig.zone(0).open && !first.rig.zone(1).open)
        first.run_to(first.rig.now + Seconds{60});
    State kept = first.rig.state;
    const WallTime at = first.rig.now;
    first.told.clear();
    first.run_to(local(2, 5));
    Follower follower(first.rig.cycles());
    follower.go_on_from(kept, at);
    for (const Told& one : first.told)
        follower.step(first.rig.setup, kept, one.at, one.inputs);
    same_budget(kept, first.rig.state);
}

TEST_CASE("follow: an engine that decides otherwise has the water that ran, and no alarm") {
    Season& s = season();
    // It may not water before noon: run again by itself it would have opened other valves.
    garden::Garden other = s.rig.setup.garden;
    other.supply.hours = {{12 * 3600, 19 * 3600}};
    const Setup setup = make_setup(other, trial::local_zone());
    const State state = followed(setup, s.told, s.rig.cycles());
    same_budget(state, s.rig.state);
    for (const Notice& notice : state.notices)
        CHECK(notice.severity != Severity::alarm);
    State run = initial_state(setup);
    for (const Told& one : s.told)
        (void)step(setup, run, one.at, one.inputs);
    CHECK_FALSE(run.zones[0].settled == s.rig.state.zones[0].settled);
}

TEST_CASE("follow: a valve that was left open ends when the engine wakes") {
    Season& s = season();
    State state = followed(s.rig.setup, s.told, s.rig.cycles());
    const WallTime now = s.rig.now;
    found_open(s.rig.setup, state, "z1", 1000, now - Seconds{120}, 600, "person");
    found_open(s.rig.setup, state, "nobody", 1001, now, 600, "person");
    REQUIRE(state.zones[0].open.has_value());
    const StepResult result =
        step(s.rig.setup, state, {now, s.rig.mono}, std::vector<Input>{Restarted{}});
    int interrupted = 0;
    for (const Record& record : result.records)
        if (const auto* c = std::get_if<Cycle>(&record)) {
            CHECK(c->id == 1000);
            CHECK(c->run_s == 120);
            CHECK(c->outcome == Outcome::interrupted);
            ++interrupted;
        }
    CHECK(interrupted == 1);
    CHECK(state.next_cycle_id >= 1002);
}
