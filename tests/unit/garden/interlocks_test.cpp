// What stands between an order and water, and what measures: [interlocks], [master_valve], [pump]
// and [[sensor]].
#include "sample.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

std::string with(const std::string& tables) {
    return sample({}) + "\n" + tables;
}

Garden garden_with(const std::string& tables) {
    const auto read_back = read(with(tables), {});
    const auto* const garden = std::get_if<Garden>(&read_back);
    REQUIRE_MESSAGE(garden != nullptr, report(errors_of(with(tables))));
    return *garden;
}

// Refused with these words somewhere in its only message.
void refuses(const std::string& tables, const std::string& words) {
    CAPTURE(tables);
    const auto errors = errors_of(with(tables));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_MESSAGE(errors[0].message.find(words) != std::string::npos, errors[0].message);
}

const std::string kMeter =
    "[[sensor]]\nid = 'meter'\nkind = 'flow_meter'\nsource = 'gpio'\nchip = 'c'\nline = 22\n"
    "litres_per_pulse = '0.5 L'\n";

} // namespace

TEST_CASE("interlocks: what holds when the file does not say") {
    const Garden garden = garden_with("");
    CHECK_EQ(garden.interlocks.zones_at_once, 16);
    CHECK_EQ(garden.interlocks.rest_between_runs_s, 0);
    CHECK_EQ(garden.most_per_day_mm(garden.zones[0]), 60);
    CHECK_EQ(garden.interlocks.frost_c, 1);
    CHECK_FALSE(garden.interlocks.wind_m_s);
    CHECK_FALSE(garden.master);
    CHECK_FALSE(garden.pump);
    CHECK(garden.sensors.empty());
    CHECK(garden.site.clock == Clock::automatic);
    CHECK_EQ(outputs(garden).size(), 2);
}

TEST_CASE("interlocks: every key is read in its unit") {
    const Garden garden = garden_with("[interlocks]\nzones_at_once = 2\nrest_between_runs = '30 "
                                      "min'\nmost_per_day = '1 in'\nfrost = '35.6 F'\nwind = '18 "
                                      "km/h'\n");
    CHECK_EQ(garden.interlocks.zones_at_once, 2);
    CHECK_EQ(garden.interlocks.rest_between_runs_s, 1800);
    CHECK_EQ(garden.interlocks.most_per_day_mm, doctest::Approx(25.4));
    CHECK_EQ(garden.interlocks.frost_c, doctest::Approx(2));
    CHECK_EQ(*garden.interlocks.wind_m_s, doctest::Approx(5));
}

TEST_CASE("interlocks: master valve and pump are outputs like the zones' valves") {
    const Garden garden = garden_with(
        "[master_valve]\nvalve = { driver = 'simulated', channel = 9 }\nlead = '3 s'\nlag = '4 "
        "s'\n[pump]\nrelay = { driver = 'simulated', channel = 10 }\nrest = '10 min'\nlongest = "
        "'2 h'\nstop_before = '5 s'\ndry_after = '20 s'\n" +
        kMeter);
    REQUIRE(garden.master);
    CHECK_EQ(garden.master->lead_s, 3);
    CHECK_EQ(garden.master->lag_s, 4);
    REQUIRE(garden.pump);
    CHECK_EQ(garden.pump->rest_s, 600);
    CHECK_EQ(garden.pump->longest_s, 7200);
    CHECK_EQ(garden.pump->stop_before_s, 5);
    CHECK_EQ(garden.pump->dry_after_s, 20);
    const auto all = outputs(garden);
    REQUIRE_EQ(all.size(), 4);
    CHECK_EQ(all[2].name, "master_valve");
    CHECK_EQ(all[2].valve.channel, 9);
    CHECK_EQ(all[3].name, "pump_relay");
    CHECK_EQ(all[3].valve.channel, 10);
}

TEST_CASE("interlocks: an output or a line of its own for each") {
    refuses("[master_valve]\nvalve = { driver = 'simulated', channel = 1 }\n",
            "channel 1 of driver \"simulated\" is taken by zone \"front\"");
    refuses("[master_valve]\nvalve = { driver = 'simulated', channel = 9 }\n[pump]\nrelay = { "
            "driver = 'simulated', channel = 9 }\n",
            "is taken by the master valve");
    refuses("[master_valve]\nvalve = { driver = 'gpio', channel = 9, chip = 'c', line = 22 }\n" +
                kMeter,
            "line 22 of chip \"c\" is taken by the master valve");
}

TEST_CASE("interlocks: what cannot be is refused") {
    refuses("[interlocks]\nzones_at_once = 0\n", "a whole number from 1 to 14");
    refuses("[interlocks]\nmost_per_day = '900 mm'\n", "from 1 to 500 mm");
    refuses("[interlocks]\nfrost = 1\n", "C or F");
    refuses("[interlocks]\nrest = '1 h'\n", "has no key \"rest\"");
    refuses("[master_valve]\nlead = '1 s'\n", "lacks \"valve\"");
    refuses("[pump]\nrelay = { driver = 'simulated', channel = 9 }\ndry_after = '20 s'\n",
            "needs a flow meter");
}

TEST_CASE("sensors: a meter, a gauge, a probe, a thermometer, a button") {
    const Garden garden = garden_with(
        kMeter +
        "too_much = '150 %'\ntoo_little = '50 %'\nno_flow_after = '20 s'\nleak = '0.2 L/min'\n"
        "[[sensor]]\nid = 'gauge'\nkind = 'rain_gauge'\nsource = 'file'\nfile = 'rain.txt'\n"
        "rain_per_tip = '0.01 in'\nsilent_after = '1 h'\n"
        "[[sensor]]\nid = 'probe'\nkind = 'soil_probe'\nsource = 'push'\nzone = 'front'\n"
        "measures = 'tension'\ndepth = '30 mm'\nscale = -1\noffset = 2.5\n"
        "[[sensor]]\nid = 'air'\nkind = 'thermometer'\nsource = 'file'\nfile = '/sys/x'\n"
        "[[sensor]]\nid = 'stop'\nkind = 'stop_button'\nsource = 'gpio'\nchip = 'c'\nline = 5\n"
        "active_low = true\nbias = 'pull_up'\ndebounce = '0.03 s'\n");
    REQUIRE_EQ(garden.sensors.size(), 5);
    const Sensor& meter = garden.sensors[0];
    CHECK(meter.kind == SensorKind::flow_meter);
    CHECK(meter.source == Sensor::Source::gpio);
    CHECK_EQ(meter.line, 22);
    CHECK_EQ(meter.scale, doctest::Approx(0.5));
    CHECK_EQ(meter.debounce_ms, 5);
    CHECK_EQ(meter.too_much, doctest::Approx(1.5));
    CHECK_EQ(meter.too_little, doctest::Approx(0.5));
    CHECK_EQ(meter.no_flow_after_s, 20);
    CHECK_EQ(meter.leak_l_per_min, doctest::Approx(0.2));
    CHECK_EQ(garden.sensors[1].scale, doctest::Approx(0.254));
    CHECK_EQ(garden.sensors[1].file, "rain.txt");
    CHECK_EQ(garden.sensors[1].silent_after_s, 3600);
    CHECK(garden.sensors[2].tension);
    CHECK_EQ(garden.sensors[2].zone, "front");
    CHECK_EQ(garden.sensors[2].depth_mm, 30);
    CHECK_EQ(garden.sensors[2].scale, -1);
    CHECK_EQ(garden.sensors[2].offset, 2.5);
    CHECK(garden.sensors[3].zone.empty());
    CHECK(garden.sensors[4].active_low);
    CHECK(garden.sensors[4].bias == Bias::pull_up);
    CHECK_EQ(garden.sensors[4].debounce_ms, 30);
}

TEST_CASE("sensors: what cannot be is refused") {
    const std::string head = "[[sensor]]\nid = 's'\n";
    refuses(head + "kind = 'flow_meter'\nsource = 'push'\n", "lacks \"litres_per_pulse\"");
    refuses(head + "kind = 'rain_gauge'\nsource = 'push'\nrain_per_tip = '0.2 L'\n", "mm, cm");
    refuses(head + "kind = 'rain_switch'\nsource = 'file'\n", "lacks \"file\"");
    refuses(head + "kind = 'rain_switch'\nsource = 'push'\nfile = 'x'\n", "file is for");
    refuses(head + "kind = 'rain_switch'\nsource = 'push'\nscale = 2.0\n", "scale is for");
    refuses(head + "kind = 'soil_probe'\nsource = 'push'\n", "lacks \"zone\"");
    refuses(head + "kind = 'soil_probe'\nsource = 'push'\nzone = 'nowhere'\n",
            "zone \"nowhere\" is none of this garden");
    refuses(head + "kind = 'thermometer'\nsource = 'gpio'\nchip = 'c'\nline = 1\n",
            "for what switches or counts");
    refuses(head + "kind = 'sundial'\nsource = 'push'\n", "unknown");
    refuses(kMeter + "[[sensor]]\nid = 'two'\nkind = 'flow_meter'\nsource = 'push'\n"
                     "litres_per_pulse = '1 L'\n",
            "one of its kind");
    refuses(kMeter + "[[sensor]]\nid = 'meter'\nkind = 'rain_switch'\nsource = 'push'\n",
            "is taken by line");
    refuses("[sensor]\nid = 's'\n", "[[sensor]] in double brackets");
}
