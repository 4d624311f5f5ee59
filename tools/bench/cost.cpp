#include "bench.hpp"

#include "compare/trial.hpp"
#include "sim/season.hpp"
#include "trial_season.hpp"
#include "watering/planner.hpp"

#include <algorithm>
#include <cstdio>
#include <time.h>

namespace firstmow::bench {
namespace {

// What this thread has used of the processor: what else the machine does is not in it.
double used_ms() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) / 1e6;
}

// Shortest of a few: what is left of others (a cold cache, a slower clock) only adds.
template <typename Work>
double shortest_ms(int times, const Work& work) {
    double best = 1e300;
    for (int i = 0; i < times; ++i) {
        const double begin = used_ms();
        work();
        best = std::min(best, used_ms() - begin);
    }
    return best;
}

// One planning of new seedbeds on one tap, 36 h ahead: at some hours of a warm day, the beds
// watered until then as on any morning. Crowded: the tap feeds one at a time, slowly, and in every
// third bed radicles are out, so that the rest of the day is lived through in every way there is
// (few beds: slot by slot).
void planning(int zones, bool crowded) {
    Options plain;
    const TrialSeason season = invented_season(plain, soil::TextureClass::loam, 1);
    garden::Garden garden = season.setup.garden;
    const garden::Zone bed = garden.zones.front();
    garden.zones.clear();
    for (int i = 0; i < zones; ++i) {
        garden::Zone zone = bed;
        zone.id += std::to_string(i);
        zone.soil = compare::kSoils[static_cast<std::size_t>(i) % compare::kSoils.size()];
        zone.establishment.cover = i % 2 == 0 ? turf::Cover::none : turf::Cover::straw;
        if (crowded) zone.precipitation_rate_mm_per_h = zones > 4 ? 5 : 3;
        garden.zones.push_back(zone);
    }
    if (crowded) garden.interlocks.zones_at_once = 1;
    const engine::Setup setup = engine::make_setup(std::move(garden), season.setup.timezone);
    std::vector<watering::HourDemand> hours;
    weather::CloudMemory clouds;
    for (const weather::Hour& hour : season.plan.truth)
        if (hour.start >= season.plan.from)
            hours.push_back(watering::hour_demand(setup.garden.site.place, hour, clouds));
    for (const int clock_h : {7, 10, 13, 16, 22}) {
        const auto begin = hours.front().start;
        const WallTime now = begin + Seconds{(24 + clock_h) * 3600};
        std::vector<watering::ZoneTask> tasks;
        for (std::size_t i = 0; i < setup.garden.zones.size(); ++i) {
            watering::ZoneTask task;
            task.zone = &setup.garden.zones[i];
            task.spec = &setup.specs[i];
            task.state = watering::initial_state(*task.zone, *task.spec, 18, begin);
            for (WallTime t = begin; t < now; t += watering::kGrid) {
                const auto since = (t - begin).count();
                const bool open = since % 10800 < 600 + 30 * static_cast<long>(i);
                watering::advance(
                    *task.spec, task.state, hours[static_cast<std::size_t>(since / 3600)],
                    open ? task.spec->rate_mm_per_h : 0.0, watering::kGrid, t + watering::kGrid);
            }
            if (crowded && i % 3 == 0)
                for (turf::SpeciesProgress& species : task.state.progress.species)
                    species.tau = 1.3 * species.slowness;
            task.needs = turf::needs(task.state.progress, now);
            tasks.push_back(std::move(task));
        }
        const auto from = static_cast<std::size_t>((now - begin).count() / 3600);
        const watering::PlanContext context{now, watering::Hours(hours).subspan(from, 40),
                                            &setup.garden, &setup.timezone};
        std::size_t runs = 0;
        const double ms = shortest_ms(5, [&] {
            runs = 0;
            for (const watering::ZonePlan& plan : watering::plan(context, tasks))
                runs += plan.start.has_value();
        });
        std::printf(
            "  planning at %02d:00, %2d zones by 36 h%s: %5.1f ms, %zu runs (target 50 ms)\n",
            clock_h, zones, crowded ? ", crowded tap" : "", ms, runs);
    }
}

} // namespace

void cost(const Options&) {
    std::printf("Processor time on one core (shortest of five)\n");
    constexpr int kDays = 60;
    double sink = 0;
    for (const soil::TextureClass texture : compare::kSoils) {
        const auto steps = compare::forcing(compare::kWeathers[5], compare::kWaterings[2], kDays);
        const double ms = shortest_ms(5, [&] {
            compare::EngineBed mean(texture, -100), low(texture, -100);
            for (soil::SurfaceForcing f : steps) {
                mean.step(f);
                f.supply_mm_per_h *= 0.65;
                low.step(f);
            }
            sink += mean.seed_kpa() + low.seed_kpa();
        });
        std::printf("  %-12s two columns, %d days at 5 min: %6.1f ms, %4.0f ns per column and "
                    "step (target 20 ms)\n",
                    soil::key(texture).data(), kDays, ms,
                    ms * 1e6 / (2.0 * static_cast<double>(steps.size())));
    }
    planning(16, false);
    planning(16, true);
    planning(8, true);
    planning(4, true);
    planning(2, true);
    Options plain;
    plain.days = 14;
    const auto season = invented_season(plain, soil::TextureClass::loam, 1);
    const double ms = shortest_ms(3, [&] {
        const auto state = sim::run_season(season.setup, season.plan, {});
        sink += static_cast<double>(state.zones.size());
    });
    std::printf("  a season of %d days, one zone, planner and all: %.0f ms%s\n\n", plain.days, ms,
                sink == 0 ? " " : "");
}

} // namespace firstmow::bench
