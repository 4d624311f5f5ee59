// What sensors say, and what follows: readings that cannot be, flow, rain.
#include "rig.hpp"

#include "engine/parts.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::engine;
using namespace firstmow::trial;

namespace {

garden::Sensor sensor(const char* id, garden::SensorKind kind, double scale = 1) {
    garden::Sensor s;
    s.id = id;
    s.kind = kind;
    s.source = garden::Sensor::Source::push;
    s.scale = scale;
    return s;
}

// A metered garden at night, one zone of 20 L/min at a time.
struct Metered {
    Metered() : rig(make(), local(0, 0)) { rig.run_to(local(0, 1)); }
    static garden::Garden make() {
        garden::Garden garden = garden_of({grown_zone("a"), grown_zone("b")}, 25);
        garden.sensors = {sensor("meter", garden::SensorKind::flow_meter, 0.5)};
        garden.supply.hours = {{12 * 3600, 13 * 3600}};
        return garden;
    }
    // The meter speaks every ten seconds while so much flows.
    void flow(double l_per_min, Seconds span) {
        for (Seconds at{0}; at < span; at += Seconds{10}) {
            rig.run_for(Seconds{10});
            litres += l_per_min / 6;
            rig.say({SensorReading{"meter", std::floor(litres * 2) / 2, rig.now}});
        }
    }
    void water(double l_per_min, int run_s = 300) {
        rig.say({SensorReading{"meter", litres, rig.now}, WaterOrder{"a", run_s}});
        flow(l_per_min, Seconds{run_s});
        flow(0, Seconds{30});
        rig.run_for(Seconds{60});
    }
    Rig rig;
    double litres = 10;
};

} // namespace

TEST_CASE("sensors: what cannot be is passed over, and said once") {
    garden::Garden garden = garden_of({grown_zone("a")});
    garden.sensors = {sensor("air", garden::SensorKind::thermometer)};
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({SensorReading{"air", 12, rig.now}});
    const auto& air = rig.state.guards.sensors[0];
    CHECK(air.value == 12);
    rig.pass(Seconds{60});
    const double none = std::numeric_limits<double>::quiet_NaN();
    rig.say({SensorReading{"air", none, rig.now}});
    rig.say({SensorReading{"air", 850, rig.now}});                    // another unit
    rig.say({SensorReading{"air", -127, rig.now}});                   // an open wire
    rig.say({SensorReading{"air", 13, rig.now + Seconds{3600}}});     // from the future
    rig.say({SensorReading{"air", 13, rig.now - Seconds{3 * 3600}}}); // too late
    CHECK(air.value == 12);
    CHECK(rig.notices("sensor_refused").size() == 1);
    rig.say({SensorReading{"air", 30, rig.now}}); // 18 degrees in a minute
    CHECK(air.value == 12);
    for (int i = 0; i < 5; ++i) // but a level that stays is the level
        rig.say({SensorReading{"air", 30, rig.now}});
    CHECK(air.value == 30);
    rig.say({SensorReading{"barometer", 1, rig.now}});
    CHECK(rig.notices("unknown_sensor").size() == 1);
}

TEST_CASE("flow: a zone's usual flow is learned, within bounds") {
    Metered m;
    for (int i = 0; i < 4; ++i)
        m.water(24);
    const ZoneGuard& guard = m.rig.zone(0).guard;
    CHECK(guard.flow_runs == 4);
    CHECK(guard.usual_l_per_min == doctest::Approx(24).epsilon(0.02));
    m.water(28);
    // A fifth of the difference, by the fifth run.
    CHECK(guard.usual_l_per_min == doctest::Approx(24.8).epsilon(0.02));
    CHECK(m.rig.notices("too_much_flow").empty());
    CHECK_FALSE(guard.lock);
}

TEST_CASE("flow: a broken pipe closes and locks the zone until a person ends it") {
    Metered m;
    for (int i = 0; i < 3; ++i)
        m.water(20);
    m.rig.say({SensorReading{"meter", m.litres, m.rig.now}, WaterOrder{"a", 600}});
    m.flow(34, Seconds{90});
    CHECK_FALSE(m.rig.open["a"]);
    REQUIRE(m.rig.notices("too_much_flow").size() == 1);
    CHECK(m.rig.cycles().back().outcome == Outcome::failed);
    CHECK(m.rig.cycles().back().run_s <= 80);
    CHECK(m.rig.zone(0).guard.usual_l_per_min == doctest::Approx(20).epsilon(0.03));
    m.rig.say({WaterOrder{"a", 60}});
    CHECK_FALSE(m.rig.open["a"]);
    m.rig.say({HoldRelease{"a"}, WaterOrder{"a", 60}});
    CHECK(m.rig.open["a"]);
}

TEST_CASE("flow: nothing flows: closed and locked; little flows: only said") {
    Metered m;
    for (int i = 0; i < 3; ++i)
        m.water(20);
    m.rig.say({SensorReading{"meter", m.litres, m.rig.now}, WaterOrder{"a", 300}});
    m.flow(8, Seconds{200});
    CHECK(m.rig.open["a"]);
    CHECK(m.rig.notices("too_little_flow").size() == 1);
    m.flow(0, Seconds{80});
    CHECK_FALSE(m.rig.open["a"]);
    CHECK(m.rig.notices("no_flow").size() == 1);
    CHECK(m.rig.zone(0).guard.lock.has_value());
}

TEST_CASE("flow: water that flows while everything is closed") {
    Metered m;
    m.water(20);
    CHECK(m.rig.notices("leak").empty());
    const std::size_t before = m.rig.commands.size();
    m.flow(6, Seconds{150});
    CHECK(m.rig.notices("leak").size() == 1);
    CHECK(m.rig.commands.size() >= before + 2);  // every valve is told to close again
    CHECK(m.rig.zone(0).guard.lock.has_value()); // that ran last
    CHECK_FALSE(m.rig.zone(1).guard.lock);
}

TEST_CASE("flow: a pump that runs dry stops everything") {
    garden::Garden garden = Metered::make();
    garden.pump.emplace();
    garden.pump->dry_after_s = 20;
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({SensorReading{"meter", 5, rig.now}, WaterOrder{"a", 600}});
    for (int i = 0; i < 4; ++i) {
        rig.run_for(Seconds{10});
        rig.say({SensorReading{"meter", 5, rig.now}});
    }
    CHECK_FALSE(rig.open["a"]);
    CHECK_FALSE(rig.open[garden::kPump]);
    REQUIRE(rig.state.guards.stop.has_value());
    CHECK(rig.state.guards.stop->why.find("pump") != std::string::npos);
}

TEST_CASE("gauge: what it measures goes before the rain of the source") {
    garden::Garden garden = garden_of({grown_zone("a")});
    garden.sensors = {sensor("gauge", garden::SensorKind::rain_gauge, 0.2)};
    Rig rig(std::move(garden), local(0, 0)); // its weather is dry
    rig.run_to(local(0, 1));
    double mm = 4;
    for (int i = 0; i < 18; ++i) { // three hours, 0.4 mm every ten minutes in the second
        if (i >= 6 && i < 12) mm += 0.4;
        rig.say({SensorReading{"gauge", mm, rig.now}});
        rig.run_for(Seconds{600});
    }
    rig.say({SensorReading{"gauge", mm, rig.now}});
    rig.run_to(local(0, 6));
    double used = 0;
    double second = 0;
    for (const WeatherUsed& w : only<WeatherUsed>(rig.records)) {
        used += w.hour.rain_mm;
        if (w.hour.start == local(0, 2)) second = w.hour.rain_mm;
    }
    CHECK(used == doctest::Approx(2.4));
    CHECK(second > 1.9);
    // A gauge that begins anew at zero has not rained.
    rig.say({SensorReading{"gauge", 0, rig.now}});
    rig.run_to(local(0, 9));
    double after = 0;
    for (const WeatherUsed& w : only<WeatherUsed>(rig.records))
        after += w.hour.rain_mm;
    CHECK(after == doctest::Approx(2.4));
}
