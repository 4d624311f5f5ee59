#include "bench.hpp"

#include "compare/trial.hpp"
#include "trial_season.hpp"
#include "watering/zone_model.hpp"

#include <algorithm>
#include <cstdio>

namespace firstmow::bench {
namespace {

constexpr Seconds kHour{3600};

// Of the driest quarter, daylight hours before the slowest species is up.
struct Dryness {
    double daylight_h = 0;
    double engine_100_h = 0, judge_100_h = 0;
    double engine_500_h = 0, judge_500_h = 0;
    double water_mm = 0, rain_mm = 0;
    double engine_evaporation_mm = 0, judge_evaporation_mm = 0;
    std::size_t starts = 0;
};

// The season again with the water that was given: the engine's column and the judge's side by
// side, under the same surface (the engine's surface temperature).
Dryness judge_season(const TrialSeason& season, bool thermal) {
    const auto runs = run_valves(season);
    const garden::Zone& zone = season.setup.garden.zones.front();
    const watering::ZoneSpec& spec = season.setup.specs.front();
    auto state = watering::initial_state(zone, spec, ground_temp_c(season), season.plan.from);
    const judge::SaxtonRawls medium = compare::judge_soil(zone.soil);
    judge::Settings settings;
    settings.thermal = thermal;
    settings.pond_capacity_mm = spec.column.pond_capacity_mm;
    judge::Profile bed(medium, compare::usual_grid(), settings);
    bed.fill(zone.soil_below_kpa * judge::kMmPerKpa, ground_temp_c(season));
    const double seed_mm = zone.establishment.seed_depth_mm;

    Dryness dry;
    dry.starts = runs.size();
    watering::Held held; // over the judge's bed
    weather::CloudMemory clouds;
    for (const weather::Hour& truth : season.plan.truth) {
        if (truth.start < season.plan.from || truth.start >= season.plan.to) continue;
        const auto hour = watering::hour_demand(season.setup.garden.site.place, truth, clouds);
        dry.rain_mm += truth.rain_mm;
        for (WallTime t = truth.start; t < truth.start + kHour; t += watering::kGrid) {
            if (state.progress.all_up) return dry;
            const double rate = spec.rate_mm_per_h * open_share(runs, t, t + watering::kGrid);
            const auto cover = watering::cover_of(spec, state.progress);
            const auto step_s = static_cast<double>(watering::kGrid.count());
            // What leaves and straw keep never comes to the judge's bed.
            const auto below =
                watering::intercept(hour, cover, held, hour.rain_mm_per_h + rate * spec.low_quarter,
                                    state.heat.skin_c, step_s);
            const auto& f = below.forcing;
            judge::Surface surface;
            surface.supply_mm_s = (f.supply_mm_per_h + f.dew_mm_per_h) / 3600;
            // Seedlings drink little before all are up; they drink from the same bed.
            surface.demand_mm_s =
                (f.evaporation_demand_mm_per_h + f.transpiration_demand_mm_per_h) / 3600;
            surface.temp_c = f.surface_temp_c;
            surface.air_vapour_kpa = f.air_vapour_kpa;
            dry.judge_evaporation_mm += below.evaporated_mm;
            dry.judge_evaporation_mm += bed.advance(surface, step_s).evaporation;
            const auto out =
                watering::advance(spec, state, hour, rate, watering::kGrid, t + watering::kGrid);
            dry.engine_evaporation_mm += out.low.evaporation_mm + out.low.transpiration_mm;
            dry.water_mm += rate * step_s / 3600;
            if (!hour.daylight) continue;
            const double engine_kpa = soil::seed_zone_kpa(spec.column, state.low);
            const double judge_kpa = bed.mean_kpa(seed_mm);
            dry.daylight_h += step_s / 3600;
            dry.engine_100_h += (engine_kpa < -100) * step_s / 3600;
            dry.judge_100_h += (judge_kpa < -100) * step_s / 3600;
            dry.engine_500_h += (engine_kpa < -500) * step_s / 3600;
            dry.judge_500_h += (judge_kpa < -500) * step_s / 3600;
        }
    }
    return dry;
}

void print(const char* weather, soil::TextureClass soil, const Dryness& d) {
    std::printf("  %-10s %-12s %6.0f %8.1f %8.1f %8.1f %8.1f %8.0f %6.0f %6zu %7.0f %7.0f\n",
                weather, soil::key(soil).data(), d.daylight_h, d.engine_100_h, d.judge_100_h,
                d.engine_500_h, d.judge_500_h, d.water_mm, d.rain_mm, d.starts,
                d.engine_evaporation_mm, d.judge_evaporation_mm);
}

} // namespace

bool seasons(const Options& options) {
    std::printf("Seasons of up to %d days from sowing until all is up, run by the engine under "
                "noisy forecasts;\nthe driest quarter's seed zone by the engine's own column and "
                "by the judge, daylight hours\n\n"
                "  %-10s %-12s %6s %8s %8s %8s %8s %8s %6s %6s %7s %7s\n"
                "  %-10s %-12s %6s %8s %8s %8s %8s %8s %6s %6s %7s %7s\n",
                options.days, "", "", "light", "< -100", "< -100", "< -500", "< -500", "water",
                "rain", "starts", "evap.", "evap.", "weather", "soil", "h", "engine", "judge",
                "engine", "judge", "mm", "mm", "", "engine", "judge");
    for (const soil::TextureClass soil : compare::kSoils) {
        if (options.weather) {
            const auto season = measured_season(options, soil);
            if (!season) return false;
            print("measured", soil, judge_season(*season, options.thermal));
            continue;
        }
        for (const std::uint64_t seed : {1u, 2u}) {
            const std::string name = "invented " + std::to_string(seed);
            print(name.c_str(), soil,
                  judge_season(invented_season(options, soil, seed), options.thermal));
        }
    }
    std::printf("\n");
    return true;
}

} // namespace firstmow::bench
