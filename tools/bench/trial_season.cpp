#include "trial_season.hpp"

#include "sim/world.hpp"
#include "weather/csv.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <sstream>

namespace firstmow::bench {
namespace {

constexpr Seconds kHour{3600};

garden::Garden garden_of(const weather::Place& place, soil::TextureClass texture, Date sown,
                         const BedKind& kind) {
    garden::Zone zone;
    zone.id = "bed";
    zone.name = "Bed";
    zone.area_m2 = 100;
    zone.soil = texture;
    zone.slope_pct = 2;
    zone.precipitation_rate_mm_per_h = 12;
    zone.distribution_uniformity = 0.65;
    zone.valve.driver = "simulated";
    zone.valve.channel = 1;
    zone.establishment.method = turf::Method::seed;
    zone.establishment.start = sown;
    zone.establishment.seed_depth_mm = kind.seed_depth_mm;
    zone.establishment.mix = kind.mix;
    garden::Garden garden;
    garden.site.name = "Bench";
    garden.site.place = place;
    garden.site.timezone = "bench";
    garden.supply.flow_l_per_min = 40;
    garden.supply.hours = {{5 * 3600, 20 * 3600}};
    garden.zones.push_back(zone);
    return garden;
}

Date sowing_date(const Options& options) {
    if (const auto date = parse_date(options.sown); date) return *date;
    return Date{std::chrono::year{2026}, std::chrono::August, std::chrono::day{1}};
}

} // namespace

TimeZone sun_zone(const weather::Place& place) {
    const auto hours = static_cast<int>(std::lround(place.longitude_deg / 15));
    return TimeZone("bench", {{WallTime{}, Seconds{hours * 3600}, "sun"}});
}

TrialSeason season_over(const weather::Place& place, const TimeZone& local,
                        std::vector<weather::Hour> truth, soil::TextureClass texture, Date sown,
                        int days, const BedKind& kind) {
    TrialSeason season;
    season.setup = engine::make_setup(garden_of(place, texture, sown, kind), local);
    season.plan.truth = std::move(truth);
    const auto& hours = season.plan.truth;
    season.plan.from = std::max(local.to_wall(sown, 0), hours.front().start);
    season.plan.to = std::min(local.to_wall(add_days(sown, days), 0), hours.back().start + kHour);
    season.plan.forecast = sim::ForecastMode::noisy;
    return season;
}

double ground_temp_c(const TrialSeason& season) {
    constexpr std::size_t kDay = 24;
    const std::vector<weather::Hour>& truth = season.plan.truth;
    const auto before = static_cast<std::size_t>((season.plan.from - truth.front().start) / kHour);
    const std::size_t first = before > kDay ? before - kDay : 0;
    const std::size_t count = std::min(kDay, truth.size() - first);
    double sum = 0;
    for (std::size_t i = first; i < first + count; ++i)
        sum += truth[i].air_temp_c;
    return sum / static_cast<double>(count);
}

std::vector<Opening> run_valves(const TrialSeason& season) {
    std::vector<Opening> runs;
    sim::SeasonListener listener;
    listener.on_valve = [&](const sim::ValveChange& change) {
        const WallTime at = season.plan.from +
                            std::chrono::floor<std::chrono::seconds>(change.at.time_since_epoch());
        if (change.open)
            runs.push_back({at, season.plan.to});
        else if (!runs.empty())
            runs.back().to = at;
    };
    sim::run_season(season.setup, season.plan, listener);
    return runs;
}

double open_share(const std::vector<Opening>& runs, WallTime from, WallTime to) {
    Seconds open{0};
    for (const Opening& run : runs)
        open += std::max(Seconds{0}, std::chrono::duration_cast<Seconds>(std::min(run.to, to) -
                                                                         std::max(run.from, from)));
    return static_cast<double>(open.count()) / static_cast<double>((to - from).count());
}

TrialSeason invented_season(const Options& options, soil::TextureClass texture,
                            std::uint64_t seed) {
    sim::WorldSpec spec;
    spec.place = {options.latitude_deg, options.longitude_deg, options.elevation_m};
    const Date sown = sowing_date(options);
    spec.from = sun_zone(spec.place).to_wall(add_days(sown, -1), 0);
    spec.hours = (options.days + 5) * 24;
    return season_over(spec.place, sun_zone(spec.place),
                       sim::complete_all(spec.place, sim::invent(spec, seed)), texture, sown,
                       options.days, {});
}

std::optional<TrialSeason> measured_season(const Options& options, soil::TextureClass texture) {
    std::ifstream file(*options.weather, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    const weather::CsvReadings csv = weather::read_csv(text.str());
    if (!file || !csv.faults.empty() || csv.readings.empty()) {
        std::fprintf(stderr, "bench: %s\n",
                     csv.faults.empty()
                         ? (*options.weather + ": cannot be read, or holds no hours").c_str()
                         : weather::located(*options.weather, csv.faults.front()).c_str());
        return std::nullopt;
    }
    const weather::Place place{options.latitude_deg, options.longitude_deg, options.elevation_m};
    const WallTime first = csv.readings.front().start;
    const Date sown = options.sown.empty() ? add_days(sun_zone(place).local_date(first), 1)
                                           : sowing_date(options);
    if (sun_zone(place).to_wall(sown, 0) < first ||
        sun_zone(place).to_wall(sown, 0) >= csv.readings.back().start) {
        std::fprintf(stderr, "bench: the date of sowing does not lie in %s\n",
                     options.weather->c_str());
        return std::nullopt;
    }
    return season_over(place, sun_zone(place), sim::complete_all(place, csv.readings), texture,
                       sown, options.days, {});
}

} // namespace firstmow::bench
