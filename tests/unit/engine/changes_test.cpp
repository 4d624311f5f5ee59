// What happens to a season when the world around it changes: a corrected garden file, an order that
// the tap never serves, a clock that is set.
#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::trial;

namespace {

double kpa_to(const watering::ZoneSpec& spec, const watering::ZoneState& state, double depth_mm) {
    return soil::mean_kpa(spec.column, state.mean, depth_mm);
}

engine::State under(const Rig& rig, const garden::Zone& zone, engine::Setup& after) {
    garden::Garden garden = rig.setup.garden;
    garden.zones[0] = zone;
    after = engine::make_setup(garden, local_zone());
    return engine::adopt(rig.setup, rig.state, after);
}

// A garden is changed while no valve is open.
void run_until_closed(Rig& rig, WallTime until) {
    rig.run_to(until);
    while (rig.zone().open)
        rig.run_for(Seconds{60});
}

} // namespace

TEST_CASE("changes: a corrected soil keeps the pull of its water, the grass goes on") {
    Rig rig(garden_of({seed_zone("front")}), local(0, 5));
    run_until_closed(rig, local(6, 12));
    const watering::ZoneState before = rig.zone().settled;
    const watering::ZoneSpec& spec = rig.setup.specs[0];
    REQUIRE(before.progress.species.front().tau > 0.1);
    REQUIRE(kpa_to(spec, before, 50) > -100); // watered for days over a dry ground

    garden::Zone zone = rig.setup.garden.zones[0];
    zone.soil = soil::TextureClass::clay;
    engine::Setup after;
    const engine::State state = under(rig, zone, after);
    const watering::ZoneState& now = state.zones[0].settled;
    CHECK(now.progress == before.progress);
    CHECK(state.zones[0].soaked);
    for (const double depth_mm : {6.0, 50.0, 300.0}) {
        // Of a stretch of layers the mean of the water is what is compared: some way off.
        const double was = kpa_to(spec, before, depth_mm);
        CHECK(kpa_to(after.specs[0], now, depth_mm) == doctest::Approx(was).epsilon(0.35));
    }
    CHECK(now.heat.layer_c[3] == doctest::Approx(before.heat.layer_c[3]));
    // A day later it goes on as any other zone.
    Rig next(after.garden, rig.now);
    next.state = state;
    next.run_to(local(7, 12));
    CHECK(next.zone().settled.progress.species.front().tau > before.progress.species.front().tau);
}

TEST_CASE("changes: another seed depth keeps every millimetre of water") {
    Rig rig(garden_of({seed_zone("front")}), local(0, 5));
    run_until_closed(rig, local(4, 15));
    garden::Zone zone = rig.setup.garden.zones[0];
    zone.establishment.seed_depth_mm = 9;
    engine::Setup after;
    const engine::State state = under(rig, zone, after);
    for (const bool low : {false, true}) {
        const auto of = [&](const engine::ZoneRuntime& z) {
            return low ? z.settled.low : z.settled.mean;
        };
        CHECK(soil::storage_mm(after.specs[0].column, of(state.zones[0])) ==
              doctest::Approx(soil::storage_mm(rig.setup.specs[0].column, of(rig.zone())))
                  .epsilon(1e-9));
    }
}

TEST_CASE("changes: a topdressing in mid-season lies on the water that is there") {
    Rig rig(garden_of({seed_zone("front")}), local(0, 5));
    run_until_closed(rig, local(6, 12));
    const watering::ZoneState before = rig.zone().settled;
    garden::Zone zone = rig.setup.garden.zones[0];
    zone.topdressing = soil::Topdressing{5, std::nullopt};
    engine::Setup after;
    const engine::State dressed = under(rig, zone, after);
    const watering::ZoneState& now = dressed.zones[0].settled;
    // As damp as the old surface was, in every one of its layers.
    const soil::Column& column = after.specs[0].column;
    const soil::Column& old = rig.setup.specs[0].column;
    const double top_kpa = old.soil[0]->hydraulics().potential_kpa(before.mean.theta[0]);
    for (std::size_t k = 0; column.layers.bottom_mm[k] <= 5.0001; ++k)
        CHECK(column.soil[k]->hydraulics().potential_kpa(now.mean.theta[k]) ==
              doctest::Approx(top_kpa));
    // Below lies what lay there, but for what the lowest 5 mm were moved out of the model.
    const double below = soil::storage_mm(column, now.mean) - soil::seed_zone_mm(column, now.mean);
    CHECK(below > soil::storage_mm(old, before.mean) * 0.9);
    CHECK(now.progress == before.progress);
    // Taken away again, the bed is what it was.
    const engine::State back = engine::adopt(after, dressed, rig.setup);
    CHECK(soil::seed_zone_kpa(old, back.zones[0].settled.mean) ==
          doctest::Approx(soil::seed_zone_kpa(old, before.mean)).epsilon(0.15));
}

TEST_CASE("changes: shares of the same mix are put right without a new beginning") {
    garden::Zone zone = seed_zone("front");
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 0.6},
                              {turf::Species::perennial_ryegrass, 0.4}};
    Rig rig(garden_of({zone}), local(0, 5));
    run_until_closed(rig, local(6, 12));
    const watering::ZoneState before = rig.zone().settled;
    REQUIRE(before.progress.species.size() == 2);
    engine::Setup after;
    zone.establishment.mix = {{turf::Species::perennial_ryegrass, 0.5},
                              {turf::Species::kentucky_bluegrass, 0.5}};
    const engine::State state = under(rig, zone, after);
    const turf::Progress& now = state.zones[0].settled.progress;
    REQUIRE(now.species.size() == 2);
    CHECK(now.species[0].species == turf::Species::perennial_ryegrass);
    CHECK(now.species[0].tau == before.progress.species[1].tau);
    CHECK(now.species[0].share == 0.5);
    CHECK(now.phase == before.progress.phase);
    CHECK(state.zones[0].settled.mean == before.mean);

    // Another species begins from the beginning; the water stays all the same.
    zone.establishment.mix = {{turf::Species::tall_fescue, 1.0}};
    const engine::State begun = under(rig, zone, after);
    CHECK(begun.zones[0].settled.progress.species.front().species == turf::Species::tall_fescue);
    CHECK(begun.zones[0].settled.progress.species.front().tau == 0);
    CHECK(begun.zones[0].settled.mean == before.mean);

    // Sown on another day it all begins anew.
    zone.establishment.start = add_days(*zone.establishment.start, 6);
    const engine::State anew = under(rig, zone, after);
    CHECK_FALSE(anew.zones[0].soaked);
    CHECK(kpa_to(after.specs[0], anew.zones[0].settled, 300) ==
          doctest::Approx(zone.soil_below_kpa).epsilon(0.01));
}

TEST_CASE("changes: what they do to the season is told before, and only that") {
    garden::Zone zone = seed_zone("front");
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 0.6},
                              {turf::Species::perennial_ryegrass, 0.4}};
    Rig rig(garden_of({zone}), local(0, 5));
    rig.run_to(local(3, 23));
    REQUIRE_FALSE(rig.zone().open);
    const auto told = [&](const garden::Zone& changed) {
        garden::Garden garden = rig.setup.garden;
        garden.zones[0] = changed;
        std::string text;
        for (const std::string& one :
             engine::effects(rig.setup, rig.state, engine::make_setup(garden, local_zone())))
            text += one + "\n";
        return text;
    };
    CHECK(told(zone) == "");
    garden::Zone other = zone;
    other.name = "Another name";
    other.area_m2 += 5;
    other.longest_run_s = 1800;
    std::swap(other.establishment.mix[0].share, other.establishment.mix[1].share);
    CHECK(told(other) == "");
    other.soil = soil::TextureClass::clay;
    CHECK(told(other).find("The water in Another name is taken over") == 0);
    other = zone;
    other.establishment.mix = {{turf::Species::tall_fescue, 1.0}};
    CHECK(told(other).find("begins anew from its first day: another mix was sown") !=
          std::string::npos);
    other = zone;
    other.establishment.start = add_days(*zone.establishment.start, 1);
    CHECK(told(other).find("begins anew, its water too") != std::string::npos);
    // What was learned is only lost when something was.
    other = zone;
    other.precipitation_rate_mm_per_h = 10;
    CHECK(told(other) == "");
    engine::CatchCanTest cans{"front", {{1.5, 1.6, 1.7, 1.4, 1.6, 1.5, 1.6, 1.7}, 10}};
    rig.say({cans});
    CHECK(told(other).find("is forgotten") != std::string::npos);
    rig.say({engine::WaterOrder{"front", 600}});
    CHECK(told(zone) ==
          "The water that runs on Lawn front is stopped for the change, and planned anew.\n");
}

TEST_CASE("changes: an order that the tap never serves is dropped after two hours") {
    garden::Zone front = seed_zone("front");
    garden::Zone side = seed_zone("side");
    side.valve.channel = 2;
    front.longest_run_s = 4 * 3600;
    // A tap for one of them at a time.
    Rig rig(garden_of({front, side}, front.flow_l_per_min() * 1.2), local(0, 5));
    run_until_closed(rig, local(1, 2));
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
    run_until_closed(rig, local(1, 12));
    CHECK(rig.notices("clock_leapt").size() == 1);
    CHECK_FALSE(rig.cycles().empty());
}
