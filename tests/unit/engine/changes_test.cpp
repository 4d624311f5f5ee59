// What happens to a season when the world around it changes: a corrected garden file, an order that
// the tap never serves, a clock that is set.
#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::trial;

TEST_CASE("changes: a corrected soil begins its water anew, the grass goes on") {
    Rig rig(garden_of({seed_zone("front")}), local(0, 5));
    rig.run_to(local(6, 12));
    const turf::Progress grass = rig.zone().settled.progress;
    REQUIRE(grass.species.front().tau > 0.1);

    garden::Garden corrected = rig.setup.garden;
    corrected.zones[0].soil = soil::TextureClass::clay;
    const engine::Setup after = engine::make_setup(corrected, local_zone());
    const engine::State state = engine::adopt(rig.setup, rig.state, after);
    CHECK(state.zones[0].settled.progress == grass);
    CHECK(state.zones[0].soaked);
    const double clay_kpa = soil::mean_kpa(after.specs[0].column, state.zones[0].settled.mean, 300);
    CHECK(clay_kpa == doctest::Approx(corrected.zones[0].soil_below_kpa).epsilon(0.01));

    // Something else was sown: that begins from the beginning.
    corrected.zones[0].establishment.mix = {{turf::Species::tall_fescue, 1.0}};
    const engine::Setup resown = engine::make_setup(corrected, local_zone());
    const engine::State begun = engine::adopt(rig.setup, rig.state, resown);
    CHECK(begun.zones[0].settled.progress.species.front().species == turf::Species::tall_fescue);
    CHECK(begun.zones[0].settled.progress.species.front().tau == 0);
    CHECK_FALSE(begun.zones[0].soaked);
}

TEST_CASE("changes: an order that the tap never serves is dropped after two hours") {
    garden::Zone front = seed_zone("front");
    garden::Zone side = seed_zone("side");
    side.valve.channel = 2;
    front.longest_run_s = 4 * 3600;
    // A tap for one of them at a time.
    Rig rig(garden_of({front, side}, front.flow_l_per_min() * 1.2), local(0, 5));
    rig.run_to(local(1, 2));
    rig.say({engine::WaterOrder{"front", 3 * 3600}});
    REQUIRE(rig.zone(0).open);
    rig.say({engine::WaterOrder{"side", 600}});
    CHECK_FALSE(rig.zone(1).open);
    rig.run_for(Seconds{2 * 3600 + 1800});
    CHECK(rig.notices("order_dropped").size() == 1);
    rig.run_for(Seconds{3600});
    for (const engine::Cycle& cycle : rig.cycles())
        CHECK_FALSE((cycle.zone == "side" && cycle.reason == "person"));
}

TEST_CASE("changes: a clock that leaps over years begins the season anew, quickly and once") {
    Rig rig(garden_of({seed_zone("front")}), local(0, 5) - std::chrono::days{56 * 365});
    rig.measured = false;
    rig.forecast = false;
    rig.say();
    rig.now = local(0, 5);
    rig.say();
    CHECK(rig.notices("clock_leapt").size() == 1);
    CHECK(rig.state.settled_until == std::chrono::floor<std::chrono::hours>(rig.now));
    rig.run_to(local(1, 12));
    CHECK(rig.notices("clock_leapt").size() == 1);
    CHECK_FALSE(rig.cycles().empty());
}
