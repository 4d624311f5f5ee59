#include "sim/season.hpp"

#include "../watering/trial_garden.hpp"
#include "weather/sun.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <map>

using namespace firstmow;
using firstmow::trial::garden_of;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::seed_zone;
using sim::ForecastMode;

namespace {

struct Told {
    std::vector<engine::Record> records;
    std::vector<sim::ValveChange> valves;
    std::vector<std::pair<WallTime, engine::Input>> inputs;
    engine::State end;
};

Told run(const garden::Garden& garden, const sim::SeasonPlan& plan) {
    const engine::Setup setup = engine::make_setup(garden, trial::local_zone());
    Told told;
    sim::SeasonListener listener;
    WallTime last = plan.from;
    listener.on_step = [&](const engine::Moment& now, const std::vector<engine::Input>& inputs,
                           const engine::StepResult& result, const engine::State&) {
        CHECK(now.wall >= last);
        CHECK(now.wall <= plan.to);
        last = now.wall;
        for (const auto& input : inputs)
            told.inputs.emplace_back(now.wall, input);
        told.records.insert(told.records.end(), result.records.begin(), result.records.end());
    };
    listener.on_valve = [&](const sim::ValveChange& change) { told.valves.push_back(change); };
    told.end = sim::run_season(setup, plan, listener);
    return told;
}

sim::SeasonPlan plan_of(int days, const trial::Air& air, ForecastMode mode) {
    sim::SeasonPlan plan;
    plan.truth = trial::clear_hours(local(-1, 0), (days + 4) * 24, air);
    plan.from = local(0, 0);
    plan.to = local(days, 0);
    plan.forecast = mode;
    return plan;
}

template <class T>
std::vector<T> only(const Told& told) {
    std::vector<T> found;
    for (const auto& record : told.records)
        if (const T* one = std::get_if<T>(&record)) found.push_back(*one);
    return found;
}

bool in_evening(WallTime t) {
    const Date date = trial::local_zone().local_date(t);
    const auto sunset = weather::sun_times(trial::place(), date).sunset;
    return sunset && t > *sunset && t < *sunset + 4 * kHour;
}

bool sun_is_up(WallTime t) {
    const auto sun = weather::sun_times(trial::place(), trial::local_zone().local_date(t));
    return t > *sun.sunrise && t < *sun.sunset;
}

} // namespace

TEST_CASE("season: the same plan gives the same records, another seed others") {
    auto plan = plan_of(2, trial::kHot, ForecastMode::noisy);
    plan.truth[30].rain_mm = 4;
    const auto garden = garden_of({seed_zone("z1")});
    const Told a = run(garden, plan);
    const Told b = run(garden, plan);
    CHECK(a.records == b.records);
    CHECK(a.end == b.end);
    CHECK(a.records.size() > 300);
    plan.seed = 2;
    CHECK_FALSE(run(garden, plan).records == a.records);
    plan.seed = 1;
    plan.forecast = ForecastMode::perfect;
    CHECK_FALSE(run(garden, plan).records == a.records);
}

TEST_CASE("season: events come at their time, in order, each once") {
    auto plan = plan_of(1, trial::kMild, ForecastMode::perfect);
    std::vector<WallTime> at{local(0, 3), local(0, 3), local(0, 9, 7), local(0, 9, 8),
                             local(0, 23, 59)};
    for (std::size_t i = 0; i < at.size(); ++i)
        plan.events.push_back({at[i], engine::HoldOrder{"z1", at[i] + Seconds{60}}});
    const Told told = run(garden_of({seed_zone("z1")}), plan);
    std::vector<WallTime> came;
    for (const auto& [time, input] : told.inputs)
        if (const auto* hold = std::get_if<engine::HoldOrder>(&input)) {
            CHECK(hold->until == time + Seconds{60});
            came.push_back(time);
        }
    CHECK(came == at);
}

TEST_CASE("season: valves open and close in turn, and all are closed at the end") {
    auto plan = plan_of(1, trial::kHot, ForecastMode::none);
    plan.to = local(0, 12);
    plan.events.push_back({local(0, 11, 58), engine::WaterOrder{"z1", 3600}});
    const Told told = run(garden_of({seed_zone("z1"), seed_zone("z2")}, 50), plan);
    std::map<std::string, bool> open;
    MonoTime last{};
    for (const auto& change : told.valves) {
        CHECK(change.open != open[change.zone]);
        CHECK(change.at >= last);
        CHECK(change.channel == static_cast<int>(change.zone.back()));
        open[change.zone] = change.open;
        last = change.at;
    }
    CHECK(told.valves.size() >= 4);
    for (const auto& [zone, is_open] : open)
        CHECK_FALSE(is_open);
    for (const auto& z : told.end.zones)
        CHECK_FALSE(z.open);
    const auto cycles = only<engine::Cycle>(told);
    REQUIRE_FALSE(cycles.empty());
    CHECK(cycles.back().outcome == engine::Outcome::stopped);
    CHECK(cycles.back().end == local(0, 12));
    CHECK(only<engine::Cycle>(told).size() * 2 == told.valves.size());
}

TEST_CASE("season: every hour of the plan is in the budget at the end") {
    const auto plan = plan_of(1, trial::kMild, ForecastMode::perfect);
    const Told told = run(garden_of({seed_zone("z1")}), plan);
    CHECK(told.end.settled_until == plan.to);
    const auto used = only<engine::WeatherUsed>(told);
    REQUIRE(used.size() == 24);
    CHECK(used.front().hour.start == plan.from);
    CHECK(used.front().hour == plan.truth[24]);
}

TEST_CASE("season: a hot fortnight from the sowing on: damp by day, no wet evenings, few words") {
    using soil::TextureClass;
    for (const auto texture : {TextureClass::sand, TextureClass::loam, TextureClass::clay}) {
        CAPTURE(soil::key(texture));
        auto plan = plan_of(14, trial::kHot, ForecastMode::perfect);
        for (std::size_t i = 100; i < plan.truth.size(); i += 89)
            plan.truth[i].rain_mm = 3; // a shower every few days
        // The tap may run from first light on: a sandy bed that waits for six o'clock, an hour
        // after sunrise, is dry in that hour whatever was planned.
        auto garden = garden_of({seed_zone("z1", texture)});
        garden.supply.hours = {{5 * 3600, 19 * 3600}};
        const Told told = run(garden, plan);
        int by_day = 0;
        int dry = 0;
        for (const auto& m : only<engine::Moisture>(told)) {
            const bool damp_phase =
                m.phase == turf::Phase::pre_germination || m.phase == turf::Phase::emergence;
            if (!damp_phase || m.time < local(0, 12) || !sun_is_up(m.time)) continue;
            ++by_day;
            dry += m.low_quarter_kpa < -100;
        }
        CHECK(by_day > 300);
        CHECK(dry < 0.02 * by_day);
        double mm = 0;
        for (const auto& c : only<engine::Cycle>(told)) {
            CHECK_FALSE(in_evening(c.start));
            CHECK_FALSE(in_evening(c.end));
            mm += c.depth_mm;
        }
        // Not a swamp: 28 deg C asks for some 7 mm a day of a bed that is wet all day.
        CHECK(mm < 14 * 20);
        std::size_t loud = 0;
        for (const auto& n : only<engine::Notice>(told))
            loud += n.severity != engine::Severity::note;
        CHECK(loud <= 3 * 14); // a warning every six hours of a night at most
        const auto decisions = only<engine::Decision>(told);
        CHECK(decisions.size() < 14 * 60);
    }
}

TEST_CASE("season: four beds on a tap for one never run together, and none is forgotten") {
    std::vector<garden::Zone> zones;
    for (int i = 1; i <= 4; ++i) {
        zones.push_back(seed_zone("z" + std::to_string(i)));
        zones.back().area_m2 = 60; // 12 L/min each
    }
    const auto plan = plan_of(3, trial::kHot, ForecastMode::noisy);
    const Told told = run(garden_of(zones, 20), plan);
    int open = 0;
    for (const auto& change : told.valves) {
        open += change.open ? 1 : -1;
        CHECK(open <= 1);
    }
    std::map<std::string, int> runs;
    for (const auto& c : only<engine::Cycle>(told))
        ++runs[c.zone];
    CHECK(runs.size() == 4);
    for (const auto& [zone, count] : runs)
        CHECK(count >= 3);
}

TEST_CASE("season: readings are completed hour by hour, from the past only") {
    std::vector<weather::Reading> readings;
    for (const auto& h : trial::clear_hours(local(0, 0), 48)) {
        weather::Reading reading;
        reading.start = h.start;
        if (readings.size() % 5 != 3) reading.air_temp_c = h.air_temp_c;
        readings.push_back(reading);
    }
    const auto all = sim::complete_all(trial::place(), readings);
    REQUIRE(all.size() == 48);
    const std::vector<weather::Reading> half(readings.begin(), readings.begin() + 24);
    const auto first = sim::complete_all(trial::place(), half);
    CHECK(std::equal(first.begin(), first.end(), all.begin()));
    CHECK(sim::complete_all(trial::place(), {}).empty());
}
