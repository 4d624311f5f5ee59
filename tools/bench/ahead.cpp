// Hours ahead where there is no forecast: what is assumed of them beside what came, over measured
// seasons.
#include "bench.hpp"

#include "season_files.hpp"
#include "weather/fill.hpp"
#include "weather/reference_et.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <functional>
#include <span>
#include <vector>

namespace firstmow::bench {
namespace {

using weather::Hour;

constexpr std::size_t kDay = 24;

// Makes the hour that starts then of the hours before it.
using Ahead =
    std::function<Hour(const weather::Place&, WallTime start, std::span<const Hour> past)>;
struct NamedAhead {
    const char* name;
    Ahead make;
};

std::vector<NamedAhead> ahead_methods() {
    const auto season = [](const weather::Place& place, WallTime start, std::span<const Hour>) {
        return weather::assume(place, start, {});
    };
    return {{"as the program does",
             [](const weather::Place& place, WallTime start, std::span<const Hour> past) {
                 return weather::assume(place, start, past);
             }},
            {"the day before, else the season",
             [season](const weather::Place& place, WallTime start, std::span<const Hour> past) {
                 for (auto h = past.rbegin(); h != past.rend(); ++h)
                     if ((start - h->start) % std::chrono::hours{24} == std::chrono::hours{0})
                         return *h;
                 return season(place, start, past);
             }},
            {"the season", season}};
}

struct AheadError {
    double off_mm = 0; // sums, hour by hour
    double thought_mm = 0;
    double came_mm = 0;
};
constexpr std::size_t kSoon_h = 6, kLate_h = 18;

// From every second hour of the days of the season, with 72 hours known or only those of that day.
// Radiation as it came: clouds are another matter, and a clear sky is assumed on purpose.
std::array<AheadError, 2> ahead_errors(const MeasuredSeason& season, const Ahead& make,
                                       bool first_day) {
    constexpr std::size_t kKnown_h = 72;
    std::array<AheadError, 2> errors;
    std::size_t day = kKnown_h;
    while (day < season.hours.size() &&
           season.local.to_local(season.hours[day].start).second_of_day >= 3600)
        ++day;
    for (; day + kDay + kLate_h < season.hours.size(); day += kDay) {
        for (std::size_t hour = 5; hour < 20; hour += 2) {
            const std::size_t now = day + hour;
            const std::size_t from = first_day ? day : now - kKnown_h;
            const auto past = std::span(season.hours).subspan(from, now - from);
            weather::CloudMemory clouds;
            for (const Hour& h : past)
                hour_et_mm(season.place, h, clouds);
            weather::CloudMemory clouds_made = clouds;
            for (std::size_t lead = 0; lead < kLate_h; ++lead) {
                const Hour& came = season.hours[now + lead];
                Hour thought = make(season.place, came.start, past);
                thought.start = came.start;
                thought.solar_w_m2 = came.solar_w_m2;
                const double et = std::max(hour_et_mm(season.place, came, clouds), 0.0);
                const double et_thought =
                    std::max(hour_et_mm(season.place, thought, clouds_made), 0.0);
                AheadError& e = errors[lead < kSoon_h ? 0 : 1];
                e.off_mm += std::abs(et_thought - et);
                e.thought_mm += et_thought;
                e.came_mm += et;
            }
        }
    }
    return errors;
}

void table(const std::vector<MeasuredSeason>& seasons) {
    std::printf("No forecast: mean error of reference ET by the hour in %% of it (its bias), 1 to "
                "%zu and %zu to %zu hours\nahead, radiation as it came\n",
                kSoon_h, kSoon_h + 1, kLate_h);
    for (const bool first_day : {true, false}) {
        for (const NamedAhead& method : ahead_methods()) {
            std::printf("  %s, %s\n",
                        first_day ? "only hours of that day known" : "three days known",
                        method.name);
            std::array<double, 2> mean{};
            for (const MeasuredSeason& season : seasons) {
                const auto errors = ahead_errors(season, method.make, first_day);
                std::printf("    %-22s", season.name.c_str());
                for (std::size_t i = 0; i < 2; ++i) {
                    const AheadError& e = errors[i];
                    std::printf(" %6.1f %% (%+6.1f %%)", 100 * e.off_mm / e.came_mm,
                                100 * (e.thought_mm / e.came_mm - 1));
                    mean[i] += 100 * e.off_mm / e.came_mm / static_cast<double>(seasons.size());
                }
                std::printf("\n");
            }
            std::printf("    %-22s %6.1f %% %19.1f %%\n", "all", mean[0], mean[1]);
        }
    }
}

} // namespace

bool ahead(const Options& options) {
    if (!options.folder) {
        std::printf("ahead: needs --folder of measured seasons\n");
        return true;
    }
    const auto seasons = read_seasons(*options.folder);
    if (!seasons) return false;
    table(*seasons);
    return true;
}

} // namespace firstmow::bench
