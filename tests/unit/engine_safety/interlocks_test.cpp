// Each interlock by itself: what is refused or waits, with what words, and that a plan heeds it.
#include "rig.hpp"

#include "engine/codec.hpp"
#include "engine/interlocks.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using namespace firstmow::trial;
using watering::Reason;

namespace {

garden::Sensor sensor(const char* id, garden::SensorKind kind) {
    garden::Sensor s;
    s.id = id;
    s.kind = kind;
    s.source = garden::Sensor::Source::push;
    return s;
}

// At night nothing is planned: what happens is what is ordered.
garden::Garden quiet_garden(double flow = 50) {
    return garden_of({grown_zone("a"), grown_zone("b")}, flow);
}

std::string why_not(const Rig& rig, const Input& input) {
    return refusal(rig.setup, rig.state, {rig.now, rig.mono}, input).value_or("");
}

bool says(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

// "open a", "close pump_relay", ... in the order of the commands from `from` on; that a lease is
// renewed is passed over.
std::vector<std::string> told(const Rig& rig, std::size_t from) {
    std::vector<std::string> words;
    std::map<std::string, bool> is_open;
    for (std::size_t i = from; i < rig.commands.size(); ++i) {
        const auto* open = std::get_if<OpenValve>(&rig.commands[i]);
        const std::string& name =
            open != nullptr ? open->zone : std::get<CloseValve>(rig.commands[i]).zone;
        const bool renewed = open != nullptr && is_open[name];
        is_open[name] = open != nullptr;
        if (!renewed) words.push_back((open != nullptr ? "open " : "close ") + name);
    }
    return words;
}

} // namespace

TEST_CASE("interlock: no order above the zone's longest run, none of nothing") {
    Rig rig(quiet_garden(), local(0, 0));
    rig.run_to(local(0, 1));
    CHECK(says(why_not(rig, WaterOrder{"a", 3601}), "a run may last 1 h at most"));
    CHECK(says(why_not(rig, WaterOrder{"a", 0}), "no water"));
    rig.say({WaterOrder{"a", 14400}, WaterOrder{"a", -5}});
    CHECK_FALSE(rig.zone(0).open);
    CHECK(rig.notices("order_refused").size() == 2);
    rig.say({WaterOrder{"a", 3000}});
    REQUIRE(rig.zone(0).open);
    // Lengthened to 50 + 20 min: refused, and it runs on as it did.
    rig.pass(Seconds{600});
    CHECK(says(why_not(rig, WaterOrder{"a", 3600}), "at most"));
    rig.say({WaterOrder{"a", 3600}});
    CHECK(rig.zone(0).open->planned_s == 3000);
    CHECK(why_not(rig, WaterOrder{"a", 2900}).empty());
}

TEST_CASE("interlock: the most of a day, also over a restart, and a day later there is room") {
    garden::Garden garden = quiet_garden();
    garden.zones[0].most_per_day_mm = 5; // 25 min at 12 mm/h
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({HoldOrder{"a", local(9, 0)}, WaterOrder{"a", 1200}});
    rig.run_for(Seconds{1300});
    REQUIRE_FALSE(rig.zone(0).open);
    CHECK(says(why_not(rig, WaterOrder{"a", 600}), "its most water of a day until"));
    CHECK(why_not(rig, WaterOrder{"a", 240}).empty());
    CHECK(why_not(rig, WaterOrder{"b", 600}).empty());

    const auto read_back = decode_state(rig.setup, encode_state(rig.setup, rig.state));
    REQUIRE(read_back.ok());
    rig.state = *read_back;
    rig.now += Seconds{7200};
    rig.mono = MonoTime{Millis{40'000}}; // booted again
    rig.say({Restarted{}});
    CHECK(says(why_not(rig, WaterOrder{"a", 600}), "its most water of a day"));
    rig.run_for(Seconds{22 * 3600 + 1200});
    CHECK(why_not(rig, WaterOrder{"a", 600}).empty());
}

TEST_CASE("interlock: a planned run is cut to what the day has left, then waits") {
    garden::Zone zone = seed_zone("a");
    zone.most_per_day_mm = 2; // 10 min; a hot day asks for more
    Rig rig(garden_of({zone}), local(0, 5), kHot);
    rig.run_to(local(3, 0));
    double mm = 0;
    for (const Cycle& cycle : rig.cycles())
        if (cycle.start >= local(1, 0) && cycle.start < local(2, 0)) mm += cycle.depth_mm;
    CHECK(mm > 1.0);
    CHECK(mm <= 2.0 + 0.1);
}

TEST_CASE("interlock: rest between runs holds an order back, then lets it go") {
    garden::Garden garden = quiet_garden();
    garden.interlocks.rest_between_runs_s = 1800;
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({WaterOrder{"a", 60}});
    rig.run_for(Seconds{120});
    REQUIRE(rig.cycles().size() == 1);
    CHECK(why_not(rig, WaterOrder{"a", 60}).empty()); // taken, but it waits
    rig.say({WaterOrder{"a", 60}});
    rig.run_for(Seconds{1000});
    CHECK(rig.cycles().size() == 1);
    rig.run_for(Seconds{1900});
    REQUIRE(rig.cycles().size() == 2);
    CHECK(rig.cycles()[1].start - rig.cycles()[0].end >= Seconds{1800});
}

TEST_CASE("interlock: zones at once") {
    garden::Garden garden = quiet_garden();
    garden.interlocks.zones_at_once = 1;
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({WaterOrder{"a", 300}, WaterOrder{"b", 300}});
    CHECK(rig.zone(0).open.has_value());
    CHECK_FALSE(rig.zone(1).open);
    rig.run_for(Seconds{320});
    CHECK_FALSE(rig.zone(0).open);
    CHECK(rig.zone(1).open.has_value());
}

TEST_CASE("interlock: frost refuses a person, with the reason, and lets no plan through") {
    const Air frosty{-4, 3, -8, 1};
    Rig rig(garden_of({seed_zone("a")}), local(0, 5), frosty);
    rig.run_to(local(0, 12));
    CHECK(says(why_not(rig, WaterOrder{"a", 300}), "it is too cold to water"));
    rig.run_to(local(2, 0));
    CHECK(rig.openings() == 0);
    CHECK(rig.view().zones[0].explanation.find("too cold") != std::string::npos);
}

TEST_CASE("interlock: a thermometer goes before the forecast, in both directions") {
    garden::Garden garden = quiet_garden();
    garden.sensors = {sensor("air", garden::SensorKind::thermometer)};
    Rig rig(std::move(garden), local(0, 5), kMild);
    rig.run_to(local(0, 12));
    CHECK(why_not(rig, WaterOrder{"a", 300}).empty());
    rig.say({SensorReading{"air", 0.5, rig.now}});
    CHECK(says(why_not(rig, WaterOrder{"a", 300}), "too cold"));
    rig.pass(Seconds{1800});
    rig.say({SensorReading{"air", 4, rig.now}});
    CHECK(why_not(rig, WaterOrder{"a", 300}).empty());
    rig.pass(Seconds{3 * 3600}); // silent: it counts no more
    rig.say({});
    CHECK(rig.notices("sensor_silent").size() == 1);
}

TEST_CASE("interlock: planned runs wait for the wind, orders do not") {
    Air windy = kHot;
    windy.wind_m_s = 9;
    garden::Garden garden = garden_of({seed_zone("a")});
    garden.interlocks.wind_m_s = 6;
    Rig rig(std::move(garden), local(0, 5), windy);
    rig.run_to(local(1, 12));
    CHECK(rig.openings() == 0);
    CHECK(says(rig.view().zones[0].explanation, "wind"));
    rig.say({WaterOrder{"a", 300}});
    CHECK(rig.openings() == 1);
}

TEST_CASE("interlock: the emergency stop latches over a restart until a person releases it") {
    Rig rig(garden_of({seed_zone("a")}), local(0, 5), kHot);
    rig.run_to(local(0, 7));
    rig.say({WaterOrder{"a", 600}});
    REQUIRE(rig.zone(0).open);
    rig.say({EmergencyStop{"a person pressed it"}});
    CHECK_FALSE(rig.zone(0).open);
    CHECK(rig.cycles().back().outcome == Outcome::stopped);
    CHECK(rig.notices("emergency_stop").size() == 1);
    const std::size_t openings = rig.openings();
    CHECK(says(why_not(rig, WaterOrder{"a", 60}), "a person pressed it"));
    rig.say({WaterOrder{"a", 60}, Restarted{}});
    rig.run_to(local(2, 0));
    CHECK(rig.openings() == openings);
    CHECK(says(rig.view().zones[0].explanation, "until a person releases it"));
    const auto read_back = decode_state(rig.setup, encode_state(rig.setup, rig.state));
    REQUIRE(read_back.ok());
    CHECK(read_back->guards.stop.has_value());
    rig.say({EmergencyRelease{}});
    rig.run_to(local(3, 0));
    CHECK(rig.openings() > openings);
}

TEST_CASE("interlock: an order and an emergency stop in the same breath: nothing stays open") {
    Rig rig(quiet_garden(), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({WaterOrder{"a", 600}});
    REQUIRE(rig.open["a"]);
    rig.say({WaterOrder{"a", 900}, EmergencyStop{"test"}, WaterOrder{"b", 60}});
    CHECK_FALSE(rig.open["a"]);
    CHECK_FALSE(rig.open["b"]);
}

TEST_CASE("interlock: a pressed button is not talked away") {
    garden::Garden garden = quiet_garden();
    garden.sensors = {sensor("stop", garden::SensorKind::stop_button)};
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({WaterOrder{"a", 600}});
    rig.say({SensorReading{"stop", 1, rig.now}});
    CHECK_FALSE(rig.zone(0).open);
    CHECK(says(why_not(rig, EmergencyRelease{}), "still pressed"));
    rig.say({EmergencyRelease{}});
    CHECK(rig.state.guards.stop.has_value());
    rig.say({SensorReading{"stop", 0, rig.now}});
    CHECK(rig.state.guards.stop.has_value()); // releasing the button alone is not enough
    rig.say({EmergencyRelease{}});
    CHECK_FALSE(rig.state.guards.stop);
}

TEST_CASE("interlock: planned runs wait for the time, orders do not") {
    Rig rig(garden_of({seed_zone("a")}), local(0, 5), kHot);
    rig.say({ClockState{false}});
    rig.run_to(local(1, 12));
    CHECK(rig.openings() == 0);
    CHECK(says(rig.view().zones[0].explanation, "the time is not known yet"));
    rig.say({WaterOrder{"a", 300}});
    CHECK(rig.openings() == 1);
    rig.say({ClockState{true}});
    rig.run_to(local(2, 12));
    CHECK(rig.openings() > 1);
}

TEST_CASE("interlock: a rain switch holds plans, a seedbed only for two hours") {
    garden::Garden garden = garden_of({seed_zone("a")});
    garden.sensors = {sensor("wet", garden::SensorKind::rain_switch)};
    Rig rig(std::move(garden), local(0, 5), kHot);
    rig.run_to(local(0, 5, 30));
    rig.say({SensorReading{"wet", 1, rig.now}});
    const WallTime wet = rig.now;
    for (int i = 0; i < 12; ++i) {
        rig.run_for(Seconds{900});
        rig.say({SensorReading{"wet", 1, rig.now}});
    }
    REQUIRE(rig.openings() > 0);
    const auto decisions = only<Decision>(rig.records);
    CHECK(std::any_of(decisions.begin(), decisions.end(), [](const Decision& d) {
        return says(d.explanation, "the rain switch is wet");
    }));
    const WallTime first = std::find_if(decisions.begin(), decisions.end(), [](const Decision& d) {
                               return d.verdict == Verdict::run;
                           })->time;
    CHECK(first - wet >= Seconds{2 * 3600});
    CHECK(first - wet < Seconds{2 * 3600 + 1000});
}

TEST_CASE("supply: the master valve leads and lags, the pump runs only with a zone open") {
    garden::Garden garden = quiet_garden();
    garden.master.emplace();
    garden.master->lead_s = 4;
    garden.master->lag_s = 6;
    garden.pump.emplace();
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    const std::size_t before = rig.commands.size();
    const WallTime ordered = rig.now;
    std::vector<std::pair<std::string, long>> course;
    rig.valve = [&](const std::string& zone, bool open) {
        course.emplace_back((open ? "open " : "close ") + zone, (rig.now - ordered).count());
        ValveReport report;
        report.zone = zone;
        report.open = open;
        return std::optional(report);
    };
    rig.say({WaterOrder{"a", 300}});
    rig.run_for(Seconds{400});
    CHECK(told(rig, before) == std::vector<std::string>{"open master_valve", "open a",
                                                        "open pump_relay", "close pump_relay",
                                                        "close a", "close master_valve"});
    REQUIRE(course.size() == 6);
    CHECK(course[1].second == 4);
    CHECK(course[2].second == 4);
    CHECK(course[3].second == 302); // 2 s before the zone
    CHECK(course[4].second == 304);
    CHECK(course[5].second == 310);
    CHECK(rig.cycles().back().run_s == 300);
}

TEST_CASE("supply: from zone to zone the pump runs on; else it rests from start to start") {
    garden::Garden garden = quiet_garden(25); // one zone at a time
    garden.pump.emplace();
    garden.pump->rest_s = 900;
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    std::size_t before = rig.commands.size();
    rig.say({WaterOrder{"a", 120}, WaterOrder{"b", 120}});
    rig.run_for(Seconds{300});
    CHECK(told(rig, before) == std::vector<std::string>{"open a", "open pump_relay", "close a",
                                                        "open b", "close pump_relay", "close b"});
    before = rig.commands.size();
    rig.say({WaterOrder{"a", 120}});
    rig.run_for(Seconds{500});
    CHECK(told(rig, before).empty()); // 800 s after the start
    rig.run_for(Seconds{400});
    CHECK(told(rig, before) ==
          std::vector<std::string>{"open a", "open pump_relay", "close pump_relay", "close a"});
}

TEST_CASE("supply: a master valve that does not obey closes everything, and the supply rests") {
    garden::Garden garden = quiet_garden();
    garden.master.emplace();
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.say({WaterOrder{"a", 600}});
    rig.run_for(Seconds{10});
    REQUIRE(rig.open["a"]);
    ValveReport lost;
    lost.zone = garden::kMasterValve;
    lost.fault = true;
    lost.detail = "no relay";
    rig.open[garden::kMasterValve] = false;
    rig.say({lost});
    CHECK_FALSE(rig.open["a"]);
    CHECK(rig.cycles().back().outcome == Outcome::failed);
    CHECK(rig.notices("master_valve_fault").size() == 1);
    rig.say({WaterOrder{"b", 60}});
    rig.run_for(Seconds{500});
    CHECK_FALSE(rig.zone(1).open);
    rig.run_for(Seconds{200});
    CHECK(rig.cycles().size() == 2); // tried again after ten minutes
}

TEST_CASE("supply: one that never answers is not waited for") {
    garden::Garden garden = quiet_garden();
    garden.pump.emplace();
    Rig rig(std::move(garden), local(0, 0));
    rig.run_to(local(0, 1));
    rig.valve = [](const std::string& zone, bool open) -> std::optional<ValveReport> {
        if (zone == garden::kPump) return std::nullopt;
        ValveReport report;
        report.zone = zone;
        report.open = open;
        return report;
    };
    rig.say({WaterOrder{"a", 600}});
    rig.run_for(Seconds{8});
    CHECK_FALSE(rig.open["a"]);
    CHECK(rig.notices("pump_fault").size() == 1);
}
