// The power may fail after any step: what was saved before must lead on.
#include "engine/codec.hpp"
#include "rig.hpp"

#include <set>

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

// Every state that was saved in three days, and the cycles written before it.
struct Saved {
    State state;
    WallTime at;
    std::size_t cycles = 0;
};

} // namespace

TEST_CASE("restart: after every step of two days the season goes on") {
    Rig rig(garden_of({seed_zone("z1"), seed_zone("z2", soil::TextureClass::sand)}), local(0, 5),
            trial::kHot);
    std::vector<Saved> saved;
    // Steps are seen through the valves as well: an opening that is not yet confirmed counts.
    rig.valve = [&](const std::string& zone, bool open) -> std::optional<ValveReport> {
        saved.push_back({rig.state, rig.now, rig.cycles().size()});
        return ValveReport{zone, open, false, ""};
    };
    while (rig.now < local(2, 0)) {
        rig.run_for(Seconds{1700});
        saved.push_back({rig.state, rig.now, rig.cycles().size()});
    }
    const auto all = rig.cycles();
    REQUIRE(all.size() >= 6);
    REQUIRE(saved.size() > 100);

    int interrupted = 0;
    for (const Saved& s : saved) {
        CAPTURE(to_iso8601(s.at));
        Rig again(rig.setup.garden, s.at, trial::kHot);
        const auto read = decode_state(again.setup, encode_state(again.setup, s.state));
        REQUIRE(read.ok());
        again.state = *read;
        again.pass(Seconds{45}); // the board starts again, its clock counts from nothing
        again.mono = MonoTime{Millis{9000}};
        again.say({Restarted{}});
        // Every valve is closed before anything else.
        REQUIRE(again.commands.size() >= 2);
        CHECK(std::holds_alternative<CloseValve>(again.commands[0]));
        CHECK(std::holds_alternative<CloseValve>(again.commands[1]));
        again.run_for(Seconds{2 * 3600});

        std::set<std::int64_t> ids;
        for (std::size_t i = 0; i < s.cycles; ++i)
            ids.insert(all[i].id);
        for (const Cycle& c : again.cycles()) {
            CHECK(ids.insert(c.id).second); // nothing twice
            CHECK(c.run_s <= c.planned_s);
            interrupted += c.outcome == Outcome::interrupted;
        }
        // What was open has been written down, once.
        for (const ZoneRuntime& z : s.state.zones)
            if (z.open) CHECK(ids.count(z.open->id) == 1);
        CHECK(again.notices("valve_open_unasked").empty());
        CHECK(again.state.settled_until > s.at);
        for (const GardenView v = again.view(); const ZoneView& z : v.zones)
            CHECK_FALSE(z.explanation.empty());
    }
    CHECK(interrupted >= 5);
}

TEST_CASE("restart: an interrupted run is not given again on top of itself") {
    const auto total = [](bool cut) {
        Rig rig(garden_of({seed_zone("z1")}), local(0, 5), trial::kHot);
        rig.run_to(local(0, 8));
        rig.say({WaterOrder{"z1", 1200}});
        rig.run_for(Seconds{1100});
        if (cut) rig.say({Restarted{}});
        rig.run_for(Seconds{1800});
        double mm = 0;
        for (const Cycle& c : rig.cycles())
            mm += c.depth_mm;
        return mm;
    };
    // 100 s of 1200 are lost, and no more than that is added again.
    CHECK(total(true) == doctest::Approx(total(false) - 100 * 12 / 3600.0));
}
