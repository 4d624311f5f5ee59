#include "bench.hpp"

#include "compare/measured_days.hpp"
#include "compare/trial.hpp"
#include "season_files.hpp"
#include "side_by_side.hpp"

#include <algorithm>
#include <cstdio>

namespace firstmow::bench {
namespace {

using namespace compare;

constexpr int kFirstDay = 3; // of a measured season

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
    std::printf("%-21s", name);
    for (std::size_t i = 0; i < 3; ++i)
        std::printf("  %4d %3.0f%%", t.by_threshold[i],
                    100 * Tally::share(t.good_by_threshold[i], t.by_threshold[i]));
    std::printf("  |  %3d %3.0f%% %+5.1f%%  |  %3d %3.0f%% %+5.1f%%\n", t.refills,
                100 * t.refill_share(), t.refills == 0 ? 0 : 100 * t.refill_error_sum / t.refills,
                t.evaporations, 100 * Tally::share(t.good_evaporations, t.evaporations),
                100 * t.worst_evaporation_error);
}

void print_matrix(const std::vector<Trial>& trials, const std::vector<std::string>& weathers) {
    std::printf("\nGood crossings of all, per cent\n%-21s", "");
    for (const soil::TextureClass soil : kSoils)
        std::printf(" %10s", soil::key(soil).data());
    for (const std::string& weather : weathers) {
        std::printf("\n%-21s", weather.c_str());
        for (const soil::TextureClass soil : kSoils) {
            Tally tally;
            for (const Trial& trial : trials)
                if (trial.texture == soil && trial.weather == weather) tally.add(trial);
            if (tally.crossings == 0)
                std::printf(" %10s", "-");
            else
                std::printf(" %10.0f", 100 * tally.crossing_share());
        }
    }
    std::printf("\n");
}

void print_worst(std::vector<Row> rows, int count) {
    std::sort(rows.begin(), rows.end(),
              [](const Row& a, const Row& b) { return a.badness() > b.badness(); });
    std::printf(
        "\nWorst crossings, hours after a wetting (- did not get there before the next). When the\n"
        "first of the two fell through, the engine's top 10 mm held `more` water than the judge's "
        "and\nthe one that fell was losing `drying`\n"
        "  %-11s %-21s %-18s %4s %6s %8s %8s %9s %9s\n",
        "soil", "weather", "watering", "day", "kPa", "judge h", "engine h", "more mm", "drying");
    for (int i = 0; i < count && i < static_cast<int>(rows.size()); ++i) {
        const Row& r = rows[static_cast<std::size_t>(i)];
        std::printf("  %-11s %-21s %-18s %4d %6.0f %7.2f%s %7.2f%s %+9.3f %4.2f mm/h\n",
                    soil_name(*r.trial), r.trial->weather.c_str(), r.trial->watering.c_str(),
                    r.crossing.day, r.crossing.threshold_kpa, r.crossing.judge_h,
                    r.crossing.judge_got_there ? " " : "-", r.crossing.engine_h,
                    r.crossing.engine_got_there ? " " : "-", r.crossing.surplus_mm,
                    r.crossing.drying_mm_per_h);
    }
}

// What kind the misses are of: a column that hardly dries comes through a threshold hours early
// or late for a hair's breadth of water.
void print_kinds(const std::vector<Row>& rows) {
    int bad = 0, slow = 0, slight = 0, other = 0;
    for (const Row& row : rows) {
        if (row.crossing.good()) continue;
        ++bad;
        if (row.crossing.drying_mm_per_h < 0.05)
            ++slow;
        else if (std::abs(row.crossing.surplus_mm) < 0.1)
            ++slight;
        else
            ++other;
    }
    std::printf("\nOf %zu crossings %d miss: %d while the bed loses less than 0.05 mm/h (evenings, "
                "dry crusts), %d\nmore with less than 0.1 mm between the two, %d with more.\n",
                rows.size(), bad, slow, slight, other);
}

void print_off(const std::vector<Trial>& trials) {
    std::printf("\nRefills off by more than 10 %%, evaporation by more than 5 %%\n");
    for (const Trial& t : trials) {
        for (const Refill& refill : t.refills)
            if (!refill.good())
                std::printf("  %-11s %-21s %-18s day %2d  refill judge %5.2f engine %5.2f mm\n",
                            soil_name(t), t.weather.c_str(), t.watering.c_str(), refill.day,
                            refill.judge_mm, refill.engine_mm);
        if (std::abs(t.evaporation_error()) > 0.05)
            std::printf("  %-11s %-21s %-18s evaporation judge %5.1f engine %5.1f mm (%+.1f %%)\n",
                        soil_name(t), t.weather.c_str(), t.watering.c_str(), t.judge_evaporation_mm,
                        t.engine_evaporation_mm, 100 * t.evaporation_error());
    }
}

} // namespace

bool columns(const Options& options) {
    TrialOptions how;
    how.days = options.days;
    how.refine = options.refine;
    how.thermal = options.thermal;
    std::vector<MeasuredSeason> seasons;
    if (options.folder) {
        auto read = read_seasons(*options.folder);
        if (!read) return false;
        seasons = std::move(*read);
    }
    std::vector<std::string> weathers;
    for (const Weather& weather : kWeathers)
        weathers.push_back(weather.name);
    for (const MeasuredSeason& season : seasons)
        weathers.push_back(season.name);

    const std::size_t per_soil = weathers.size() * kWaterings.size();
    std::vector<Trial> trials(kSoils.size() * per_soil);
    side_by_side(trials.size(), options.threads, [&](std::size_t i) {
        const soil::TextureClass soil = kSoils[i / per_soil];
        const std::size_t weather = i % per_soil / kWaterings.size();
        const Watering& watering = kWaterings[i % kWaterings.size()];
        if (weather < kWeathers.size()) {
            trials[i] = run_trial(soil, kWeathers[weather], watering, how);
            return;
        }
        const MeasuredSeason& season = seasons[weather - kWeathers.size()];
        trials[i] = run_trial(soil,
                              measured_forcing(season.place, season.local, season.hours, watering,
                                               soil, kFirstDay, how.days),
                              how);
        trials[i].weather = season.name;
        trials[i].watering = watering.name;
    });

    std::printf("Column against judge: %d days, %zu kinds of weather, once watered and thrice a "
                "day\n"
                "Crossings of the top 10 mm: number and share within 20 min or 10 %%. Refill to\n"
                "-50 kPa: number, share within 10 %%, mean error. Evaporation: number, share "
                "within 5 %%, worst.\n\n"
                "%-21s  %-10s  %-10s  %-10s|  %-16s|  evaporation\n",
                options.days, weathers.size(), "soil", " -50 kPa", "-100 kPa", "-500 kPa",
                "refill");
    Tally all;
    std::vector<Row> rows;
    for (const soil::TextureClass soil : kSoils) {
        Tally tally;
        for (const Trial& trial : trials)
            if (trial.texture == soil) tally.add(trial);
        print_tally(soil::key(soil).data(), tally);
    }
    std::printf("\n");
    for (const std::string& weather : weathers) {
        Tally tally;
        for (const Trial& trial : trials)
            if (trial.weather == weather) tally.add(trial);
        print_tally(weather.c_str(), tally);
    }
    for (const Trial& trial : trials) {
        all.add(trial);
        for (const Crossing& crossing : trial.crossings)
            rows.push_back({&trial, crossing});
    }
    std::printf("\n");
    print_tally("all", all);
    print_matrix(trials, weathers);
    print_kinds(rows);
    print_worst(rows, options.worst);
    print_off(trials);
    std::printf("\n");
    return true;
}

} // namespace firstmow::bench
