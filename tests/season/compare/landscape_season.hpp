// The six landscapes run by the engine over a stretch of weather, and their accounts. A header of
// its own: it needs lib/sim, which the rest of this folder does not.
#pragma once

#include "compare/landscapes.hpp"
#include "sim/season.hpp"
#include "turf/thirst.hpp"
#include "watering/demand.hpp"
#include "watering/exposure.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace firstmow::compare {

// What is judged of a stretch of weather: thirty local days from the midnight that begins `first`,
// under a forecast that errs. The weather should begin two days before, to go by, and end five days
// later, to be foreseen.
inline sim::SeasonPlan thirty_days(std::vector<weather::Hour> truth, const TimeZone& local,
                                   Date first) {
    sim::SeasonPlan plan;
    plan.truth = std::move(truth);
    plan.from = local.to_wall(first, 0);
    plan.to = local.to_wall(add_days(first, 30), 0);
    plan.forecast = sim::ForecastMode::noisy;
    return plan;
}

struct Judged {
    Account account;
    // The same with a store of the zone's own roots (FAO-56 Eq. 82 and 83 by the engine's soil, 150
    // mm deep) in place of the protocol's, which are deeper: no more than they can live on, and
    // what the subsoil may lend them (watering/root_book.hpp).
    Account own_roots;
    int starts = 0; // openings of the valve
};

inline Landscape with_own_roots(Landscape landscape, const watering::ZoneSpec& spec) {
    const turf::Progress grown = turf::begin(turf::Method::none, {}, WallTime{});
    const bool warm = landscape.species == turf::Species::bermudagrass;
    const double holds_mm = soil::available_mm(spec.column, watering::roots_mm(spec, grown));
    landscape.working_storage_mm =
        turf::stress_depletion(warm) * holds_mm + watering::most_lent_mm(holds_mm);
    return landscape;
}

// `plan.truth` holds the weather, `plan.from` to `plan.to` the days that are judged.
inline std::vector<Judged> run_landscapes(const weather::Place& place, const TimeZone& local,
                                          const sim::SeasonPlan& plan) {
    garden::Garden garden;
    garden.site.name = "Landscapes";
    garden.site.place = place;
    garden.site.timezone = local.name();
    garden.supply.flow_l_per_min = 200;
    garden.supply.hours = {{0, 10 * 3600}};
    for (const Landscape& landscape : kLandscapes)
        garden.zones.push_back(landscape_zone(landscape));
    const engine::Setup setup = engine::make_setup(std::move(garden), local);

    weather::CloudMemory clouds;
    std::vector<watering::HourDemand> demands;
    for (const weather::Hour& hour : plan.truth) {
        if (hour.start < plan.from || hour.start >= plan.to) continue;
        demands.push_back(watering::hour_demand(place, hour, clouds));
    }
    std::map<std::string, std::vector<AccountHour>> hours;
    for (std::size_t i = 0; i < setup.specs.size(); ++i)
        for (const watering::HourDemand& demand : demands)
            hours[setup.garden.zones[i].id].push_back(
                {watering::zone_et_mm_per_h(demand, &setup.specs[i].exposure), demand.rain_mm_per_h,
                 0, 0, 0});
    std::map<std::string, int> starts;
    sim::SeasonListener listener;
    listener.on_step = [&](const engine::Moment&, const std::vector<engine::Input>&,
                           const engine::StepResult& result, const engine::State&) {
        for (const engine::Record& record : result.records) {
            if (const auto* cycle = std::get_if<engine::Cycle>(&record)) ++starts[cycle->zone];
            const auto* line = std::get_if<engine::Moisture>(&record);
            if (line == nullptr || line->time <= plan.from || line->time > plan.to) continue;
            auto& zone = hours[line->zone];
            // A line speaks of the ten minutes before it.
            const auto at = static_cast<std::size_t>((line->time - plan.from).count() - 1) / 3600;
            if (at >= zone.size()) continue;
            zone[at].applied_mm += line->applied_mm;
            zone[at].runoff_mm += line->runoff_mm;
            zone[at].used_mm += line->evaporation_mm + line->transpiration_mm;
        }
    };
    sim::run_season(setup, plan, listener);
    std::vector<Judged> judged;
    for (std::size_t i = 0; i < kLandscapes.size(); ++i) {
        const auto& zone = hours[setup.garden.zones[i].id];
        judged.push_back({account_of(kLandscapes[i], zone),
                          account_of(with_own_roots(kLandscapes[i], setup.specs[i]), zone),
                          starts[setup.garden.zones[i].id]});
    }
    return judged;
}

} // namespace firstmow::compare
