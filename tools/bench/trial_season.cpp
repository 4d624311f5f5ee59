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

garden::Garden garden_of(const weather::Place& place, soil::TextureClass texture, Date sown) {
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
    zone.establishment.mix = {{turf::Species::kentucky_bluegrass, 0.6},
                              {turf::Species::perennial_ryegrass, 0.4}};
    garden::Garden garden;
    garden.site.name = "Bench";
    garden.site.place = place;
    garden.site.timezone = "bench";
    garden.supply.flow_l_per_min = 40;
    garden.supply.hours = {{5 * 3600, 20 * 3600}};
    garden.zones.push_back(zone);
    return garden;
}

// Sun time to the hour, so that the garden's hours lie in its day.
TimeZone zone_of(const weather::Place& place) {
    const auto hours = static_cast<int>(std::lround(place.longitude_deg / 15));
    return TimeZone("bench", {{WallTime{}, Seconds{hours * 3600}, "sun"}});
}

Date sowing_date(const Options& options) {
    if (const auto date = parse_date(options.sown); date) return *date;
    return Date{std::chrono::year{2026}, std::chrono::August, std::chrono::day{1}};
}

TrialSeason season_of(const weather::Place& place, soil::TextureClass texture, Date sown, int days,
                      const std::vector<weather::Reading>& readings) {
    TrialSeason season;
    const TimeZone local = zone_of(place);
    season.setup = engine::make_setup(garden_of(place, texture, sown), local);
    season.plan.truth = sim::complete_all(place, readings);
    const auto& truth = season.plan.truth;
    season.plan.from = std::max(local.to_wall(sown, 0), truth.front().start);
    season.plan.to = std::min(local.to_wall(add_days(sown, days), 0), truth.back().start + kHour);
    season.plan.forecast = sim::ForecastMode::noisy;
    return season;
}

} // namespace

TrialSeason invented_season(const Options& options, soil::TextureClass texture,
                            std::uint64_t seed) {
    sim::WorldSpec spec;
    spec.place = {options.latitude_deg, options.longitude_deg, options.elevation_m};
    const Date sown = sowing_date(options);
    spec.from = zone_of(spec.place).to_wall(add_days(sown, -1), 0);
    spec.hours = (options.days + 5) * 24;
    return season_of(spec.place, texture, sown, options.days, sim::invent(spec, seed));
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
    const Date sown =
        options.sown.empty() ? add_days(zone_of(place).local_date(first), 1) : sowing_date(options);
    if (zone_of(place).to_wall(sown, 0) < first ||
        zone_of(place).to_wall(sown, 0) >= csv.readings.back().start) {
        std::fprintf(stderr, "bench: the date of sowing does not lie in %s\n",
                     options.weather->c_str());
        return std::nullopt;
    }
    return season_of(place, texture, sown, options.days, csv.readings);
}

} // namespace firstmow::bench
