#include "bench.hpp"

#include "compare/trial.hpp"
#include "sim/season.hpp"
#include "trial_season.hpp"

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
