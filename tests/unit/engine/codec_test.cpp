#include "engine/codec.hpp"

#include "base/random.hpp"
#include "rig.hpp"

#include <algorithm>

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

std::vector<Input> every_kind() {
    weather::Hour hour = trial::clear_hour(local(0, 5));
    hour.rain_mm = 0.1 + 0.2; // a number without a short form
    hour.wind_origin = weather::Origin::assumed;
    hour.rain_probability = 1.0 / 3.0;
    hour.soil_temp_c = 17.1;
    return {HourObserved{hour},
            ForecastArrived{trial::clear_hours(local(0, 6), 3)},
            ForecastArrived{},
            WaterOrder{"z1", 14400},
            StopOrder{""},
            StopOrder{"z1"},
            HoldOrder{"z1", local(5, 1, 2)},
            HoldRelease{"z1"},
            Observation{"z1", turf::ObservationKind::puddling},
            ValveReport{"z1", true, false, ""},
            ValveReport{"z1", false, true, "coil \"4\" says:\n\t\\ no \xC3\xA4nswer"},
            ValveReport{"z1", false, true, "late", MonoTime{Millis{1234567}}},
            Remark{Severity::warning, "clock", "The clock was set."},
            Restarted{},
            CatchCanTest{"z1", {{1.0 / 3.0, 0, 12}, 10}},
            SoilProbe{"z1", 50, 0.21, std::nullopt},
            SoilProbe{"z1", 50, std::nullopt, -33.5},
            CorrectionUndo{"z1", true},
            WordUndo{"z1", 12},
            EmergencyStop{"its button was pressed"},
            EmergencyRelease{},
            SensorReading{"meter", 12.5, local(1, 2, 3)},
            SensorReading{"meter", std::numeric_limits<double>::quiet_NaN(), local(1, 2, 3)},
            ClockState{false},
            MowPlan{"z1", local(5, 1, 2)},
            MowPlan{"z1", std::nullopt}};
}

// A season of two days with all sorts in it, kept from step to step.
struct Season {
    Rig rig{garden_of({seed_zone("z1"), trial::grown_zone("z2")}, 50), local(0, 5), trial::kHot};
    std::vector<State> states;
    Season() {
        for (int i = 0; i < 60; ++i) {
            if (i == 20) rig.say({HoldOrder{"z1", local(1, 12)}});
            if (i == 25) rig.say({WaterOrder{"z1", 1800}, WaterOrder{"z2", 1800}});
            if (i == 30) rig.say({WaterOrder{"unknown", 60}});
            if (i == 35) rig.say({CatchCanTest{"z1", {{1, 2, 1.5, 1.2}, 10}}});
            if (i == 38) rig.say({Observation{"z2", turf::ObservationKind::surface_dry}});
            if (i == 39) rig.say({MowPlan{"z2", local(3, 15)}});
            if (i == 40) rig.say({Observation{"z1", turf::ObservationKind::seedlings_seen}});
            rig.run_for(Seconds{2400});
            states.push_back(rig.state);
        }
    }
};

const Season& season() {
    static const Season kSeason;
    return kSeason;
}

} // namespace

TEST_CASE("codec: inputs of every kind read back as they were") {
    const auto inputs = every_kind();
    const std::string text = encode_inputs(inputs);
    const auto back = decode_inputs(text);
    REQUIRE(back.ok());
    REQUIRE(back->size() == inputs.size());
    for (std::size_t i = 0; i < inputs.size(); ++i) {
        CHECK(back.value()[i].index() == inputs[i].index());
        CHECK(encode_inputs(std::span(&back.value()[i], 1)) ==
              encode_inputs(std::span(&inputs[i], 1)));
    }
    CHECK(std::get<HourObserved>(back.value()[0]).hour == std::get<HourObserved>(inputs[0]).hour);
    CHECK(std::get<ForecastArrived>(back.value()[1]).hours ==
          std::get<ForecastArrived>(inputs[1]).hours);
    CHECK(std::get<WaterOrder>(back.value()[3]).run_s == 14400);
    CHECK(std::get<HoldOrder>(back.value()[6]).until == local(5, 1, 2));
    CHECK(std::get<Observation>(back.value()[8]).kind == turf::ObservationKind::puddling);
    CHECK(std::get<ValveReport>(back.value()[9]).open);
    CHECK(std::get<ValveReport>(back.value()[10]).fault);
    CHECK(std::get<ValveReport>(back.value()[10]).detail ==
          std::get<ValveReport>(inputs[10]).detail);
    CHECK(std::get<MowPlan>(back.value()[24]).at == local(5, 1, 2));
    CHECK_FALSE(std::get<MowPlan>(back.value()[25]).at.has_value());
    CHECK(decode_inputs(encode_inputs({})).value().empty());
}

TEST_CASE("codec: a state of before mows and curves were kept is read, with what can be told") {
    Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
    rig.run_to(local(25, 12));
    const turf::Progress& is = rig.zone().settled.progress;
    REQUIRE(is.half_up.has_value());
    std::string text = encode_state(rig.setup, rig.state);
    const auto cut = [&](const std::string& key) { // `"key":value,`, wherever it stands
        for (auto at = text.find(key); at != std::string::npos; at = text.find(key, at)) {
            const bool list = text[at + key.size()] == '[';
            const auto end = text.find(list ? "]," : ",", at);
            text.erase(at, end + (list ? 2 : 1) - at);
        }
    };
    cut("\"mow_at\":");
    cut("\"tau_by_day\":");
    const auto species = text.find("\"seedlings_seen\"");
    const auto half = text.find("\"half_up\":", species); // the mix's, not the species'
    text.erase(half, text.find(',', half) + 1 - half);
    const auto back = decode_state(rig.setup, text);
    REQUIRE_MESSAGE(back.ok(), back.error().message);
    const turf::Progress& read = back->zones[0].settled.progress;
    CHECK(read.species[0].tau_by_day.empty());
    CHECK_FALSE(back->zones[0].mow_at.has_value());
    // About when it was: between the species of the mix.
    REQUIRE(read.half_up.has_value());
    const auto apart =
        *read.half_up > *is.half_up ? *read.half_up - *is.half_up : *is.half_up - *read.half_up;
    CHECK(apart <= std::chrono::days{3});
    // Days that were not kept are drawn in evenly with the next step.
    State state = *back;
    turf::Progress& progress = state.zones[0].settled.progress;
    turf::advance(progress, 18, -30, Seconds{3600}, rig.now + Seconds{3600});
    CHECK_EQ(progress.species[0].tau_by_day.size(), 25);
    CHECK(std::ranges::is_sorted(progress.species[0].tau_by_day));
}

TEST_CASE("codec: states read back bit for bit") {
    const Season& s = season();
    bool open = false;
    bool held = false;
    for (const State& state : s.states) {
        const auto back = decode_state(s.rig.setup, encode_state(s.rig.setup, state));
        REQUIRE(back.ok());
        CHECK(back.value() == state);
        for (const ZoneRuntime& z : state.zones) {
            open = open || z.open;
            held = held || z.hold_until;
        }
    }
    CHECK(open);
    CHECK(held);
    const State fresh = initial_state(s.rig.setup);
    CHECK(decode_state(s.rig.setup, encode_state(s.rig.setup, fresh)).value() == fresh);
}

TEST_CASE("codec: a state from before grown-in lawns had a book reads, and the book begins") {
    const Season& s = season();
    const State& last = s.states.back();
    REQUIRE_FALSE(last.zones[0].settled.book.has_value());
    REQUIRE(last.zones[1].settled.book.has_value());
    std::string text = encode_state(s.rig.setup, last);
    const std::string key = ",\"roots_used_mm\":";
    int cut = 0;
    for (auto at = text.find(key); at != std::string::npos; at = text.find(key), ++cut)
        text.erase(at, text.find('}', at) - at);
    CHECK(cut >= 6); // settled, past and newer of two zones
    const auto back = decode_state(s.rig.setup, text);
    REQUIRE_MESSAGE(back.ok(), back.error().message);
    State expected = last;
    for (ZoneRuntime& z : expected.zones) {
        for (watering::ZoneState* zone : {&z.settled, &z.past.zone, &z.newer.zone})
            zone->book.reset();
        if (z.word && z.word->past) z.word->past->zone.book.reset();
    }
    CHECK(back.value() == expected);
    // What is planned from has one again, from where the column stands.
    Rig rig = s.rig;
    rig.state = *back;
    rig.run_for(Seconds{2 * 3600});
    CHECK(rig.state.zones[1].settled.book.has_value());
}

TEST_CASE("codec: a book from before the subsoil lent to it reads, and has borrowed nothing") {
    const Season& s = season();
    State last = s.states.back();
    REQUIRE(last.zones[1].settled.book.has_value());
    last.zones[1].settled.book->lent_mm = 1.25;
    std::string text = encode_state(s.rig.setup, last);
    CHECK(decode_state(s.rig.setup, text).value() == last);
    const std::string key = ",\"roots_lent_mm\":";
    for (auto at = text.find(key); at != std::string::npos; at = text.find(key))
        text.erase(at, text.find_first_of(",}", at + 1) - at);
    const auto back = decode_state(s.rig.setup, text);
    REQUIRE_MESSAGE(back.ok(), back.error().message);
    for (ZoneRuntime& z : last.zones) {
        for (watering::ZoneState* zone : {&z.settled, &z.past.zone, &z.newer.zone})
            if (zone->book) zone->book->lent_mm = 0;
        if (z.word && z.word->past && z.word->past->zone.book) z.word->past->zone.book->lent_mm = 0;
    }
    CHECK(back.value() == last);
}

TEST_CASE("codec: a state from before there was a record of forecasts reads, with none") {
    const Season& s = season();
    const State& last = s.states.back();
    REQUIRE_FALSE(last.forecast_record.waiting.empty());
    REQUIRE(last.forecast_record.scores[0][0].et_thought_mm > 0);
    std::string text = encode_state(s.rig.setup, last);
    const auto from = text.find("\"forecast_record\":");
    const auto to = text.find("\"next_cycle_id\":");
    REQUIRE(from < to);
    text.erase(from, to - from);
    const auto back = decode_state(s.rig.setup, text);
    REQUIRE(back.ok());
    State expected = last;
    expected.forecast_record = {};
    CHECK(back.value() == expected);
}

TEST_CASE("codec: a state is refused by another garden") {
    const Season& s = season();
    const std::string text = encode_state(s.rig.setup, s.states.back());
    const auto setup = [](std::vector<garden::Zone> zones) {
        return make_setup(garden_of(std::move(zones), 50), trial::local_zone());
    };
    CHECK_FALSE(decode_state(setup({seed_zone("z1")}), text).ok());
    CHECK_FALSE(decode_state(setup({trial::grown_zone("z2"), seed_zone("z1")}), text).ok());
    auto deeper = seed_zone("z1");
    deeper.establishment.seed_depth_mm = 17; // another number of layers
    const auto refused = decode_state(setup({deeper, trial::grown_zone("z2")}), text);
    if (make_setup(garden_of({deeper}), trial::local_zone()).specs[0].column.layers.count !=
        s.rig.setup.specs[0].column.layers.count)
        CHECK_FALSE(refused.ok());
}

TEST_CASE("codec: text cut short is refused") {
    const Season& s = season();
    const std::string state = encode_state(s.rig.setup, s.states[30]);
    for (std::size_t size = 0; size < state.size(); size += 1 + size / 40)
        CHECK_FALSE(decode_state(s.rig.setup, std::string_view(state).substr(0, size)).ok());
    const std::string inputs = encode_inputs(every_kind());
    for (std::size_t size = 0; size < inputs.size(); ++size)
        CHECK_FALSE(decode_inputs(std::string_view(inputs).substr(0, size)).ok());
    const std::string zone = encode_timezone(trial::local_zone());
    for (std::size_t size = 0; size < zone.size(); ++size)
        CHECK_FALSE(decode_timezone(std::string_view(zone).substr(0, size)).ok());
}

TEST_CASE("codec: damaged text never crashes, and what is read is a value like any other") {
    const Season& s = season();
    Random random(11);
    const auto damaged = [&](std::string text) {
        const auto flips = 1 + random.bits() % 3;
        for (std::uint64_t i = 0; i < flips; ++i)
            text[random.bits() % text.size()] = static_cast<char>(random.bits());
        return text;
    };
    const std::string state = encode_state(s.rig.setup, s.states[30]);
    const std::string inputs = encode_inputs(every_kind());
    int refused = 0;
    for (int i = 0; i < 400; ++i) {
        const auto read = decode_state(s.rig.setup, damaged(state));
        refused += !read.ok();
        if (read)
            CHECK(decode_state(s.rig.setup, encode_state(s.rig.setup, *read)).value() == *read);
        else
            CHECK_FALSE(read.error().message.empty());
    }
    CHECK(refused > 50);
    for (int i = 0; i < 4000; ++i) {
        const auto read = decode_inputs(damaged(inputs));
        if (read) CHECK(decode_inputs(encode_inputs(*read)).ok());
    }
}

TEST_CASE("codec: JSON that is no state, no input, no zone") {
    const Setup& setup = season().rig.setup;
    for (const char* text :
         {"", "null", "7", "[]", "{}", "[[]]", "[{}]", "\"x\"", "[null]", "{\"form\":1}",
          "[{\"is\":\"water\"}]", "[{\"is\":\"nonsense\"}]", "[{\"is\":\"hour\",\"hours\":[]}]",
          "[{\"is\":\"hour\",\"hours\":[[1,2,3]]}]", "[{\"is\":\"hold\",\"zone\":\"a\"}]",
          "[{\"is\":\"water\",\"zone\":7,\"run_s\":60}]",
          "[{\"is\":\"water\",\"zone\":\"a\",\"run_s\":\"60\"}]",
          "[{\"is\":\"observation\",\"zone\":\"a\",\"kind\":\"rain\"}]",
          "{\"name\":\"x\",\"eras\":[]}"}) {
        CAPTURE(text);
        CHECK_FALSE(decode_state(setup, text).ok());
        if (std::string_view(text) != "[]") CHECK_FALSE(decode_inputs(text).ok());
        CHECK_FALSE(decode_timezone(text).ok());
    }
    // An origin that no integer can hold.
    CHECK_FALSE(
        decode_inputs("[{\"is\":\"hour\",\"hours\":[[0,1,1,1,1,0,1,1e300,0,0,0,0]]}]").ok());
    CHECK_FALSE(decode_inputs("[{\"is\":\"hour\",\"hours\":[[0,1,1,1,1,0,1,7,0,0,0,0]]}]").ok());
    // Nothing nests so deep that reading it runs out of stack.
    CHECK_FALSE(decode_inputs(std::string(200000, '[')).ok());
}

TEST_CASE("codec: time zones") {
    const TimeZone zone("Test/Zone", {{WallTime{}, Seconds{3600}, "CET"},
                                      {local(0, 0), Seconds{7200}, "CEST"},
                                      {local(60, 0), Seconds{3600}, "CET"}});
    const auto back = decode_timezone(encode_timezone(zone));
    REQUIRE(back.ok());
    CHECK(back->name() == zone.name());
    CHECK(back->eras() == zone.eras());
    // Out of order.
    CHECK_FALSE(decode_timezone(R"({"name":"x","eras":[
        {"from":10,"utc_offset_s":0,"abbreviation":"A"},
        {"from":5,"utc_offset_s":0,"abbreviation":"B"}]})")
                    .ok());
}
