// Grown-in landscapes through thirty days, by the account that weather-based controllers are judged
// by: of invented weather, and of every stretch of thirty days in the measured seasons, every
// fortnight one.
#include "bench.hpp"

#include "compare/landscape_season.hpp"
#include "season_files.hpp"
#include "sim/world.hpp"

#include <algorithm>
#include <cstdio>

namespace firstmow::bench {
namespace {

constexpr int kBefore = 2; // days that go by first, and days that are foreseen at the end
constexpr int kAfter = 5;

struct Worst {
    double adequacy = 1;
    double excess = 0;
};

void show(const std::string& name, const weather::Place& place, const TimeZone& local,
          const std::vector<weather::Hour>& truth, Date first, Worst& worst) {
    for (const auto mode :
         {sim::ForecastMode::perfect, sim::ForecastMode::noisy, sim::ForecastMode::none}) {
        sim::SeasonPlan plan = compare::thirty_days(truth, local, first);
        plan.forecast = mode;
        const auto judged = compare::run_landscapes(place, local, plan);
        double rain = 0;
        for (const weather::Hour& hour : truth)
            if (hour.start >= plan.from && hour.start < plan.to) rain += hour.rain_mm;
        const char* forecast = mode == sim::ForecastMode::perfect ? "perfect"
                               : mode == sim::ForecastMode::noisy ? "noisy"
                                                                  : "none";
        std::printf("%-16.16s %s %-7s %5.0f", name.c_str(), to_string(first).c_str(), forecast,
                    rain);
        for (const auto& [account, own_roots, starts] : judged) {
            std::printf("  %4.0f %4.0f %5.1f %4.1f %5.1f %3d", account.asked_mm, account.applied_mm,
                        100 * account.adequacy(), 100 * account.excess(),
                        100 * own_roots.adequacy(), starts);
            worst.adequacy = std::min(worst.adequacy, account.adequacy());
            worst.excess = std::max(worst.excess, account.excess());
        }
        std::printf("\n");
    }
}

} // namespace

bool landscapes(const Options& options) {
    std::printf("Landscapes, thirty days: rain mm, then of each asked mm, given mm, adequacy %%, "
                "excess %%, adequacy of its own roots %%, starts\n");
    Worst worst;
    const TimeZone local("bench", {{WallTime{}, Seconds{-6 * 3600}, "sun"}});
    const Date begin{std::chrono::year{2026}, std::chrono::July, std::chrono::day{20}};
    for (const std::uint64_t seed : {1u, 2u, 3u}) {
        sim::WorldSpec spec;
        spec.place = {41, -90, 210};
        spec.from = local.to_wall(begin, 0);
        spec.hours = (kBefore + 30 + kAfter) * 24;
        show("invented", spec.place, local, sim::complete_all(spec.place, sim::invent(spec, seed)),
             add_days(begin, kBefore), worst);
    }
    if (options.folder) {
        const auto seasons = read_seasons(*options.folder);
        if (!seasons) return false;
        for (const MeasuredSeason& season : *seasons) {
            const Date day = season.local.local_date(season.hours.front().start);
            const WallTime end = season.hours.back().start;
            for (Date first = add_days(day, kBefore + 1);
                 season.local.to_wall(add_days(first, 30 + kAfter), 0) < end;
                 first = add_days(first, 14))
                show(season.name, season.place, season.local, season.hours, first, worst);
        }
    }
    std::printf("worst: adequacy %.1f %%, excess %.1f %%\n\n", 100 * worst.adequacy,
                100 * worst.excess);
    return true;
}

} // namespace firstmow::bench
