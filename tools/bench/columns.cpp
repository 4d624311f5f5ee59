#include "bench.hpp"

#include "compare/trial.hpp"

#include <algorithm>
#include <cstdio>

namespace firstmow::bench {
namespace {

using namespace compare;

struct Row {
    const Trial* trial;
    Crossing crossing;
    // 1: just good.
    double badness() const {
        return std::abs(crossing.error_min()) / std::max(20.0, 6 * crossing.judge_h);
    }
};

const char* soil_name(const Trial& trial) {
    return soil::key(trial.texture).data();
}

void print_tally(const char* name, const Tally& t) {
    std::printf("%-12s", name);
    for (std::size_t i = 0; i < 3; ++i)
        std::printf("  %4d %3.0f%%", t.by_threshold[i],
                    100 * Tally::share(t.good_by_threshold[i], t.by_threshold[i]));
    std::printf("  |  %3d %3.0f%% %+5.1f%%  |  %3d %3.0f%% %+5.1f%%\n", t.refills,
                100 * t.refill_share(), t.refills == 0 ? 0 : 100 * t.refill_error_sum / t.refills,
                t.evaporations, 100 * Tally::share(t.good_evaporations, t.evaporations),
                100 * t.worst_evaporation_error);
}

void print_worst(std::vector<Row>& rows, int count) {
    std::sort(rows.begin(), rows.end(),
              [](const Row& a, const Row& b) { return a.badness() > b.badness(); });
    std::printf("\nWorst crossings, hours after a wetting (- did not get there before the next)\n");
    for (int i = 0; i < count && i < static_cast<int>(rows.size()); ++i) {
        const Row& r = rows[static_cast<std::size_t>(i)];
        std::printf("  %-12s %-12s %-18s day %2d %5.0f kPa  judge %6.2f%s engine %6.2f%s\n",
                    soil_name(*r.trial), r.trial->weather->name, r.trial->watering->name,
                    r.crossing.day, r.crossing.threshold_kpa, r.crossing.judge_h,
                    r.crossing.judge_got_there ? " " : "-", r.crossing.engine_h,
                    r.crossing.engine_got_there ? " " : "-");
    }
}

} // namespace

void columns(const Options& options) {
    TrialOptions how;
    how.days = options.days;
    how.refine = options.refine;
    how.thermal = options.thermal;
    std::vector<Trial> trials;
    for (const soil::TextureClass soil : kSoils)
        for (const Weather& weather : kWeathers)
            for (const Watering& watering : kWaterings)
                trials.push_back(run_trial(soil, weather, watering, how));

    std::printf("Column against judge: %d days, six kinds of weather, once watered and thrice a "
                "day\n"
                "Crossings of the top 10 mm: number and share within 20 min or 10 %%. Refill to\n"
                "-50 kPa: number, share within 10 %%, mean error. Evaporation: number, share "
                "within 5 %%, worst.\n\n"
                "%-12s  %-10s  %-10s  %-10s|  %-16s|  evaporation\n",
                options.days, "soil", " -50 kPa", "-100 kPa", "-500 kPa", "refill");
    Tally all;
    std::vector<Row> rows;
    for (const soil::TextureClass soil : kSoils) {
        Tally tally;
        for (const Trial& trial : trials)
            if (trial.texture == soil) tally.add(trial);
        print_tally(soil::key(soil).data(), tally);
    }
    std::printf("\n");
    for (const Weather& weather : kWeathers) {
        Tally tally;
        for (const Trial& trial : trials)
            if (trial.weather == &weather) tally.add(trial);
        print_tally(weather.name, tally);
    }
    for (const Trial& trial : trials) {
        all.add(trial);
        for (const Crossing& crossing : trial.crossings)
            rows.push_back({&trial, crossing});
    }
    std::printf("\n");
    print_tally("all", all);
    print_worst(rows, options.worst);
    std::printf("\n");
}

} // namespace firstmow::bench
