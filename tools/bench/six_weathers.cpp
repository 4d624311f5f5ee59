#include "six_weathers.hpp"

#include "sim/season.hpp"
#include "sim/world.hpp"
#include "trial_season.hpp"

#include <algorithm>

namespace firstmow::bench {
namespace {

constexpr Date kFirst{std::chrono::year{2026}, std::chrono::July, std::chrono::day{31}};

// Factors on what the continental summer of sim/world.hpp has.
struct Bend {
    std::string_view kind;
    weather::Place place;
    std::uint64_t seed;
    bool hot_spell;
    double warmer_c;
    double dryness; // of 100 % less the relative humidity
    double wind, sun, rain;
};
constexpr Bend kBends[] = {
    {"hot dry", {34, -110, 400}, 1, true, 3, 1.2, 1, 1, 0.1},
    {"windy arid", {39, -117, 1300}, 2, false, 2, 1.5, 2, 1, 0},
    {"warm", {41, -90, 210}, 1, false, 0, 1, 1, 1, 0.5},
    {"humid", {31, -90, 50}, 3, false, 1, 0.6, 0.8, 0.9, 1},
    {"cool cloudy", {55, 0, 50}, 4, false, -3, 0.8, 1, 0.6, 1},
    {"showery", {45, -85, 200}, 5, false, -1, 0.9, 1, 0.85, 1},
};

} // namespace

MeasuredSeason six_weather(std::string_view kind, int days) {
    const Bend& bend = *std::find_if(std::begin(kBends), std::end(kBends),
                                     [kind](const Bend& b) { return b.kind == kind; });
    MeasuredSeason season;
    season.name = kind;
    season.place = bend.place;
    season.local = sun_zone(bend.place);
    sim::WorldSpec spec;
    spec.place = bend.place;
    spec.from = season.local.to_wall(kFirst, 0);
    spec.hours = (days + 6) * 24;
    if (bend.hot_spell) spec.hot_spell = sim::DaySpan{add_days(kFirst, 4), add_days(kFirst, 12)};
    if (bend.hot_spell) spec.hot_peak_c = 38;
    auto readings = sim::invent(spec, bend.seed);
    for (weather::Reading& r : readings) {
        *r.air_temp_c += bend.warmer_c;
        r.rel_humidity_pct =
            std::clamp(100 - (100 - *r.rel_humidity_pct) * bend.dryness, 5.0, 100.0);
        *r.wind_2m_m_s *= bend.wind;
        *r.solar_w_m2 *= bend.sun;
        *r.rain_mm *= bend.rain;
    }
    if (kind == "showery")
        // Besides what falls anyway: 3 mm in the afternoon of every second day.
        for (std::size_t i = 0; i < readings.size(); ++i)
            if (i % 48 == 15 || i % 48 == 16) *readings[i].rain_mm += 1.5;
    season.hours = sim::complete_all(season.place, readings);
    return season;
}

} // namespace firstmow::bench
