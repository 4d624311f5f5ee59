// The weather falls silent for three days at the hottest time of a season; what came of it is
// judged by the weather that really was, which the engine did not know.
#include "sim/season.hpp"
#include "sim/world.hpp"

#include "../watering/trial_garden.hpp"
#include "weather/sun.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using firstmow::trial::garden_of;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::seed_zone;

namespace {

constexpr int kDays = 60;

sim::SeasonPlan hot_season(std::uint64_t seed) {
    sim::WorldSpec world;
    world.place = trial::place();
    world.from = local(-3, 0);
    world.hours = (kDays + 6) * 24;
    world.hot_spell = sim::DaySpan{add_days(trial::kSown, 3), add_days(trial::kSown, 7)};
    world.hot_peak_c = 36;
    sim::SeasonPlan plan;
    plan.truth = sim::complete_all(world.place, sim::invent(world, seed));
    plan.from = local(0, 0);
    plan.to = local(kDays, 0);
    plan.seed = seed;
    return plan;
}

struct Lived {
    std::vector<sim::ValveChange> valves;
    std::vector<engine::WeatherUsed> used;
    std::vector<engine::Decision> decisions;
    std::vector<std::string> notes; // of the moments within the silence
};

Lived live(const engine::Setup& setup, const sim::SeasonPlan& plan) {
    Lived lived;
    sim::SeasonListener listener;
    WallTime next_look = plan.from;
    listener.on_step = [&](const engine::Moment& now, const std::vector<engine::Input>&,
                           const engine::StepResult& result, const engine::State& state) {
        for (const auto& record : result.records) {
            if (const auto* used = std::get_if<engine::WeatherUsed>(&record))
                lived.used.push_back(*used);
            if (const auto* decision = std::get_if<engine::Decision>(&record))
                lived.decisions.push_back(*decision);
        }
        if (!plan.silence || now.wall < plan.silence->from || now.wall >= plan.silence->to ||
            now.wall < next_look)
            return;
        next_look = now.wall + 3 * kHour;
        lived.notes.push_back(engine::view(setup, state, now).weather_note);
    };
    listener.on_valve = [&](const sim::ValveChange& change) { lived.valves.push_back(change); };
    (void)sim::run_season(setup, plan, listener);
    return lived;
}

// The share of the daylight before all are up in which the driest quarter was below its threshold,
// under the weather that was and the water that was given.
double dry_share(const engine::Setup& setup, const sim::SeasonPlan& plan, const Lived& lived) {
    const garden::Zone& zone = setup.garden.zones[0];
    const watering::ZoneSpec& spec = setup.specs[0];
    const auto begin = static_cast<std::size_t>((plan.from - plan.truth.front().start) / kHour);
    watering::ZoneState state =
        watering::initial_state(zone, spec, plan.truth[begin].air_temp_c, plan.from);
    weather::CloudMemory clouds;
    const auto open_at = [&](WallTime t) {
        bool open = false;
        for (const auto& change : lived.valves)
            if (plan.from + std::chrono::floor<Seconds>(change.at.time_since_epoch()) <= t)
                open = change.open;
        return open;
    };
    int light = 0;
    int dry = 0;
    for (std::size_t i = begin; i < plan.truth.size() && plan.truth[i].start < plan.to; ++i) {
        const weather::Hour& hour = plan.truth[i];
        const auto demand = watering::hour_demand(trial::place(), hour, clouds);
        const bool sun = weather::hour_sun(trial::place(), hour.start, 0.0820).elevation_rad > 0;
        for (Seconds at{0}; at < kHour; at += Seconds{60}) {
            const WallTime to = hour.start + at + Seconds{60};
            const double rate = open_at(to - Seconds{30}) ? spec.rate_mm_per_h : 0;
            (void)watering::advance(spec, state, demand, rate, Seconds{60}, to);
        }
        const auto phase = state.progress.phase;
        if (phase != turf::Phase::pre_germination && phase != turf::Phase::emergence) break;
        if (!sun) continue;
        ++light;
        dry += soil::seed_zone_kpa(spec.column, state.low) <
               turf::needs(state.progress, hour.start + kHour).threshold_kpa;
    }
    REQUIRE(light > 100);
    return static_cast<double>(dry) / light;
}

} // namespace

TEST_CASE("three days without any word of the weather, the hottest ones: the bed stays damp") {
    using soil::TextureClass;
    // With a forecast of before that lasts into it, and with none at all.
    for (const auto texture : {TextureClass::loam, TextureClass::sandy_loam}) {
        const engine::Setup setup =
            engine::make_setup(garden_of({seed_zone("z1", texture)}), trial::local_zone());
        sim::SeasonPlan plan = hot_season(3);
        // The peak lies in the afternoons of the sixth and seventh day after sowing.
        plan.silence = sim::Silence{local(5, 6), local(8, 6)};
        const auto mode =
            texture == TextureClass::loam ? sim::ForecastMode::noisy : sim::ForecastMode::none;
        {
            CAPTURE(static_cast<int>(mode));
            plan.forecast = mode;
            const Lived lived = live(setup, plan);
            const double dry = dry_share(setup, plan, lived);
            MESSAGE("dry hours: " << 100 * dry << " %");
            CHECK(dry < 0.03);

            // On the record: the hours that nobody measured say so, those after it are measured.
            int stood_in = 0;
            for (const engine::WeatherUsed& used : lived.used) {
                const bool silent = used.hour.start + kHour >= plan.silence->from &&
                                    used.hour.start + kHour < plan.silence->to;
                if (silent) {
                    stood_in += used.hour.temp_origin != weather::Origin::measured;
                } else {
                    CHECK(used.hour.temp_origin == weather::Origin::measured);
                }
            }
            CHECK(stood_in >= 70);
            CHECK(lived.used.size() >= kDays * 24U - 1);
            // The page said it.
            REQUIRE(lived.notes.size() > 20);
            if (mode == sim::ForecastMode::none)
                CHECK(lived.notes.back().find("assuming a warm clear day") != std::string::npos);
            // And there were runs, with their reasons.
            int runs = 0;
            for (const engine::Decision& d : lived.decisions)
                if (d.verdict == engine::Verdict::run && d.time >= plan.silence->from &&
                    d.time < plan.silence->to) {
                    ++runs;
                    CHECK_FALSE(d.reason.empty());
                    CHECK_FALSE(d.explanation.empty());
                }
            CHECK(runs >= 3);
        }
    }
}
