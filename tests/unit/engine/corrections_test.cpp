// What people and instruments see moves a zone's own factors: towards the truth, within bounds, and
// back again when it is taken back.
#include "base/random.hpp"
#include "engine/codec.hpp"
#include "engine/parts.hpp"
#include "rig.hpp"

#include <cmath>

using namespace firstmow;
using namespace firstmow::engine;
using namespace firstmow::trial;

namespace {

// A garden that is other than the model holds: it gets the water that the model orders.
struct Truth {
    Rig rig;
    watering::ZoneSpec spec;
    watering::ZoneState zone;
    WallTime at;
    double cloud = 0.7;

    explicit Truth(const watering::Factors& truth, const Air& air = kHot)
        : rig(garden_of({seed_zone("front")}), local(0, 5), air) {
        rig.say(rig.weather());
        spec = watering::corrected(rig.setup.specs[0], truth);
        zone = rig.zone().settled;
        at = rig.state.settled_until;
        cloud = rig.state.cloud_factor;
    }
    // Both go on to `until`, a full hour.
    void run_to(WallTime until) {
        while (rig.now < until) {
            rig.run_to(
                std::min(until, std::chrono::floor<std::chrono::hours>(rig.now) + trial::kHour));
            if (rig.state.settled_until <= at) continue;
            std::vector<watering::HourDemand> late;
            weather::CloudMemory clouds;
            clouds.set(cloud);
            for (const weather::Hour& hour : rig.state.recent)
                if (hour.start >= at) late.push_back(watering::hour_demand(place(), hour, clouds));
            soil::Flows flows;
            run_again(spec, zone, late, rig.zone().applied, at, rig.state.settled_until, flows);
            at = rig.state.settled_until;
            cloud = clouds.factor();
        }
    }
    double top_kpa() const { return soil::mean_kpa(spec.column, zone.low, 2.5); }
    watering::Factors learned() const { return watering::factors(rig.state.zones[0].estimate); }
    std::vector<Correction> corrections() const { return only<Correction>(rig.records); }
};

void inside_bounds(const watering::Factors& f) {
    const auto inside = [](double value, watering::Unknown u) {
        return value >= watering::bounds(u).low * 0.999999 &&
               value <= watering::bounds(u).high * 1.000001;
    };
    CHECK(inside(f.evaporation, watering::Unknown::evaporation));
    CHECK(inside(f.rate, watering::Unknown::rate));
    CHECK(inside(f.uniformity, watering::Unknown::uniformity));
    CHECK(inside(f.intake, watering::Unknown::intake));
}

// An honest person who looks twice a day.
void look_daily(Truth& truth, int days) {
    for (int day = 1; day <= days; ++day)
        for (const int hour : {11, 16}) {
            truth.run_to(local(day, hour));
            // pF 3.5, with an eye that is good to a factor of two.
            if (truth.top_kpa() < -310)
                truth.rig.say({Observation{"front", turf::ObservationKind::surface_dry}});
            inside_bounds(truth.learned());
        }
}

CatchCanTest cans(double mm_per_h, double uneven = 0.2) {
    CatchCanTest test;
    test.zone = "front";
    test.cans.minutes = 10;
    for (int i = 0; i < 16; ++i)
        test.cans.depth_mm.push_back(mm_per_h / 6 * (1 + uneven * (i - 7.5) / 7.5));
    return test;
}

} // namespace

TEST_CASE("corrections: an honest person's reports bring the evaporation towards the truth") {
    Truth thirsty({1.3, 1, 1, 1});
    look_daily(thirsty, 14);
    MESSAGE("truth 1.3, learned ", thirsty.learned().evaporation, " rate ", thirsty.learned().rate,
            " uniformity ", thirsty.learned().uniformity, " after ", thirsty.corrections().size());
    CHECK(thirsty.learned().evaporation > 1.05);
    CHECK(thirsty.learned().evaporation < 1.5);
    // Where the model is right, the same person teaches it little.
    Truth right({1, 1, 1, 1});
    look_daily(right, 14);
    MESSAGE("truth 1, learned ", right.learned().evaporation, " after ",
            right.corrections().size());
    CHECK(right.learned().evaporation < thirsty.learned().evaporation);
    CHECK(right.learned().evaporation < 1.1);
}

TEST_CASE("corrections: a probe brings the evaporation towards the truth, whichever way it is") {
    for (const double evaporation : {1.25, 0.8}) {
        Truth truth({evaporation, 1, 1, 1});
        Random noise(7);
        for (int day = 1; day <= 20; ++day) {
            truth.run_to(local(day, 18)); // when a day's drying shows most
            SoilProbe probe;
            probe.zone = "front";
            probe.depth_mm = 15;
            const double seen = truth.zone.mean.theta[10] + 0.01 * (noise.uniform(-1, 1));
            probe.water_fraction = std::clamp(seen, 0.0, 0.6);
            truth.rig.say({probe});
            inside_bounds(truth.learned());
        }
        MESSAGE("truth ", evaporation, ", learned ", truth.learned().evaporation);
        if (evaporation > 1) CHECK(truth.learned().evaporation > 1.01);
        if (evaporation < 1) CHECK(truth.learned().evaporation < 0.99);
        CHECK(std::abs(std::log(truth.learned().evaporation / evaporation)) <
              std::abs(std::log(evaporation)));
    }
}

TEST_CASE("corrections: catch cans tell the rate and the uniformity") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(1, 8));
    truth.rig.say({cans(0.8 * 12)});
    CHECK(truth.learned().rate == doctest::Approx(0.8).epsilon(0.06));
    REQUIRE(truth.corrections().size() == 1);
    const Correction c = truth.corrections().front();
    CHECK(c.cause == Cause::catch_cans);
    CHECK(c.before == watering::Factors{});
    CHECK(c.after == truth.learned());
    CHECK(c.why.find("Catch cans on Lawn front gave 9.6 mm/h and a uniformity of 0.") == 0);
    CHECK(c.why.find("less water a minute") != std::string::npos);
    // What people are shown follows, and what is written down of a run.
    CHECK(truth.rig.view().zones[0].rate_mm_per_h == doctest::Approx(12 * truth.learned().rate));
    CHECK(truth.rig.view().zones[0].correction->why == c.why);
    const auto before = truth.rig.cycles().size();
    truth.run_to(local(3, 8));
    REQUIRE(truth.rig.cycles().size() > before);
    const Cycle last = truth.rig.cycles().back();
    CHECK(last.depth_mm == doctest::Approx(last.run_s / 3600.0 * 12 * truth.learned().rate));
    // A test sent twice by mistake is one test.
    const double once = truth.learned().rate;
    truth.rig.say({cans(0.8 * 12)});
    truth.rig.pass(Seconds{60});
    const double twice = truth.learned().rate;
    truth.rig.say({cans(0.8 * 12)});
    CHECK(std::abs(truth.learned().rate - twice) < 0.002);
    CHECK(once > 0.7);
}

TEST_CASE("corrections: puddles after sprinkling lower the intake, from a hose they say nothing") {
    garden::Zone strong = seed_zone("front", soil::TextureClass::clay_loam);
    strong.precipitation_rate_mm_per_h = 30;
    Rig rig(garden_of({strong}, 60), local(0, 5), kHot);
    rig.run_to(local(1, 3));
    rig.say({Observation{"front", turf::ObservationKind::puddling}});
    CHECK(only<Correction>(rig.records).empty());
    rig.run_to(local(2, 3));
    rig.say({WaterOrder{"front", 1200}});
    rig.run_for(Seconds{1500});
    rig.say({Observation{"front", turf::ObservationKind::puddling}});
    const auto f = watering::factors(rig.zone().estimate);
    CHECK(f.intake < 0.98);
    inside_bounds(f);
    REQUIRE(only<Correction>(rig.records).size() == 1);
    CHECK(only<Correction>(rig.records)[0].why.find("Water was reported standing on Lawn front") ==
          0);
    // So runs become shorter at one go.
    const watering::ZoneSpec own = own_spec(rig.setup, rig.state, 0);
    const watering::HourDemand hour;
    CHECK(watering::longest_intake_s(own, rig.zone().settled, hour, 3600) <=
          watering::longest_intake_s(rig.setup.specs[0], rig.zone().settled, hour, 3600));
}

TEST_CASE("corrections: clicking again and again on one day does not run away") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(2, 10));
    truth.rig.say({Observation{"front", turf::ObservationKind::surface_dry}});
    const watering::Factors once = truth.learned();
    for (int i = 0; i < 30; ++i) {
        truth.rig.pass(Seconds{20});
        truth.rig.say({Observation{"front", turf::ObservationKind::surface_dry}});
    }
    inside_bounds(truth.learned());
    CHECK(truth.learned().evaporation >= once.evaporation - 1e-9);
    CHECK(truth.learned().evaporation - 1 < (once.evaporation - 1) * 1.1 + 0.005);
}

TEST_CASE("corrections: taken back, everything is as it was") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(3, 14));
    truth.rig.pass(Seconds{600});
    const ZoneRuntime before = truth.rig.zone();
    SoilProbe probe;
    probe.zone = "front";
    probe.depth_mm = 10;
    probe.water_fraction = 0.08;
    truth.rig.tell({probe});
    REQUIRE(truth.corrections().size() == 1);
    CHECK_FALSE(truth.rig.zone().estimate == before.estimate);
    CHECK_FALSE(truth.rig.zone().settled == before.settled);
    truth.rig.tell({CorrectionUndo{"front", false}});
    const ZoneRuntime& after = truth.rig.zone();
    CHECK(after.estimate == before.estimate);
    CHECK(after.settled == before.settled);
    CHECK(after.past == before.past);
    CHECK(after.newer == before.newer);
    CHECK(after.heard == before.heard);
    CHECK(after.corrections == before.corrections);
    CHECK(after.applied_later_mm == doctest::Approx(before.applied_later_mm));
    REQUIRE(truth.corrections().size() == 2);
    CHECK(truth.corrections()[1].cause == Cause::undone);
    CHECK(truth.corrections()[1].after == watering::Factors{});
    // Nothing more to take back: said, and nothing happens.
    truth.rig.tell({CorrectionUndo{"front", false}});
    CHECK(truth.corrections().size() == 2);
    CHECK(truth.rig.notices("observation").back().text.find("no correction") != std::string::npos);
}

TEST_CASE("corrections: all of them are set back at once") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(1, 8));
    truth.rig.say({cans(0.7 * 12)});
    truth.run_to(local(2, 8));
    truth.rig.say({cans(0.9 * 12, 0.5)});
    REQUIRE(truth.rig.zone().corrections.size() == 2);
    truth.rig.say({CorrectionUndo{"front", true}});
    CHECK(truth.learned() == watering::Factors{});
    CHECK(truth.rig.zone().corrections.empty());
    CHECK(truth.corrections().back().cause == Cause::set_back);
}

TEST_CASE("corrections: the account of water balances over a correction") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(2, 10));
    const auto lines_before = only<Moisture>(truth.rig.records).size();
    SoilProbe probe;
    probe.zone = "front";
    probe.depth_mm = 10;
    probe.water_fraction = 0.1;
    truth.rig.say({probe, cans(0.75 * 12)});
    REQUIRE_FALSE(truth.corrections().empty());
    truth.run_to(local(2, 14));
    const auto lines = only<Moisture>(truth.rig.records);
    REQUIRE(lines.size() > lines_before);
    double flows = 0;
    for (std::size_t i = lines_before; i < lines.size(); ++i)
        flows += lines[i].rain_mm + lines[i].applied_mm - lines[i].evaporation_mm -
                 lines[i].transpiration_mm - lines[i].runoff_mm - lines[i].drainage_mm;
    CHECK(flows == doctest::Approx(lines.back().root_zone_mm - lines[lines_before - 1].root_zone_mm)
                       .epsilon(1e-6));
}

TEST_CASE("corrections: nonsense is not used, and said") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(1, 8));
    const auto estimate = truth.rig.zone().estimate;
    SoilProbe both;
    both.zone = "front";
    both.water_fraction = 0.2;
    both.kpa = -50;
    SoilProbe none;
    none.zone = "front";
    SoilProbe deep = none;
    deep.depth_mm = -5;
    deep.kpa = -50;
    SoilProbe wet = none;
    wet.water_fraction = 1.2;
    CatchCanTest empty;
    empty.zone = "front";
    empty.cans = {{0, 0, 0}, 10};
    truth.rig.say({both, none, deep, wet, empty});
    CHECK(truth.rig.zone().estimate == estimate);
    CHECK(truth.rig.notices("observation").size() == 5);
    truth.rig.say({CatchCanTest{"nowhere", {{1}, 10}}});
    CHECK(truth.rig.notices("unknown_zone").size() == 1);
}

TEST_CASE("corrections: are in the state's text, and forgotten with the sprinklers they speak of") {
    Truth truth({1, 1, 1, 1});
    truth.run_to(local(2, 2)); // no valve is open at night
    truth.rig.say({cans(0.8 * 12)});
    const auto back = decode_state(truth.rig.setup, encode_state(truth.rig.setup, truth.rig.state));
    REQUIRE(back.ok());
    CHECK(back.value() == truth.rig.state);

    garden::Garden other = truth.rig.setup.garden;
    other.zones[0].precipitation_rate_mm_per_h = 9.6;
    const Setup measured = make_setup(other, local_zone());
    const State adopted = adopt(truth.rig.setup, truth.rig.state, measured);
    CHECK(watering::factors(adopted.zones[0].estimate).rate == 1);
    CHECK(adopted.zones[0].corrections.empty());
    // A zone that stays as it was keeps what it learned.
    const State kept = adopt(truth.rig.setup, truth.rig.state, truth.rig.setup);
    CHECK(kept.zones[0].estimate == truth.rig.zone().estimate);
}
