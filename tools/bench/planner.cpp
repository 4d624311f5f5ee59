// The planner beside perfect foresight and a fixed timer, all on the judge's column.
#include "bench.hpp"

#include "compare/foresight.hpp"
#include "compare/trial.hpp"
#include "side_by_side.hpp"
#include "six_weathers.hpp"
#include "trial_season.hpp"
#include "watering/sizer.hpp"
#include "watering/zone_model.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <set>

namespace firstmow::bench {
namespace {

using namespace compare;

constexpr Seconds kStep{300};
constexpr int kSownAfterDays = 4;           // of a measured season
constexpr int kOpens_h = 5, kCloses_h = 20; // as in the garden of trial_season.cpp
constexpr Seconds kFirstSoak{1800};         // of the first morning, before hours count
constexpr double kSameDryness_h = 0.25;
constexpr Seconds kEvening{2 * 3600};
constexpr std::array<soil::TextureClass, 4> kPlannerSoils{
    soil::TextureClass::sand, soil::TextureClass::sandy_loam, soil::TextureClass::loam,
    soil::TextureClass::clay_loam};

enum Who : std::size_t { kPerfect, kNoisy, kNone, kTimer, kForesight, kWhos };
constexpr std::array<const char*, kWhos> kNames{"perfect forecast", "noisy forecast", "no forecast",
                                                "fixed timer", "foresight"};

struct Case {
    const MeasuredSeason* season = nullptr;
    soil::TextureClass soil{};
    std::array<Outcome, kWhos> of;
    std::array<int, kWhos> wet_nights{};
    std::array<std::string, kWhos> runs; // listed, if asked for
    int timer_min = 0;
    double rain_mm = 0, days = 0;
    long dropped = 0;
    double start_price_mm = 0;
    std::size_t found_by = kForesight;
    // Water over foresight's.
    double ratio(std::size_t who) const {
        return of[kForesight].water_mm > 0.5 ? of[who].water_mm / of[kForesight].water_mm : 1;
    }
};

TrialSeason season_of(const MeasuredSeason& weather, soil::TextureClass soil, int days) {
    BedKind kind;
    kind.seed_depth_mm = 10;
    kind.mix = {{turf::Species::kentucky_bluegrass, 1.0}}; // the slowest to come up
    const Date sown =
        add_days(weather.local.local_date(weather.hours.front().start),
                 weather.observed_file || weather.hours.size() > 60 * 24 ? kSownAfterDays : 2);
    return season_over(weather.place, weather.local, weather.hours, soil, sown, days, kind);
}

Sprinkling sprinkling_of(const std::vector<Opening>& runs, WallTime from, std::size_t steps) {
    Sprinkling out(steps, 0);
    for (std::size_t i = 0; i < steps; ++i) {
        const WallTime t = from + kStep * static_cast<int>(i);
        out[i] = open_share(runs, t, t + kStep);
    }
    return out;
}

// The weather over the bed, until all is up under that watering.
BedDays bed_days(const TrialSeason& season, const Sprinkling& sprinkling, const TimeZone& local) {
    const garden::Zone& zone = season.setup.garden.zones.front();
    const watering::ZoneSpec& spec = season.setup.specs.front();
    const weather::Place& place = season.setup.garden.site.place;
    const WallTime from = season.plan.from;
    auto state = watering::initial_state(zone, spec, ground_temp_c(season), from);
    BedDays days;
    days.own = ZoneWeather{spec, state, from, {}};
    weather::CloudMemory clouds;
    const WallTime soaked = from + Seconds{kOpens_h * 3600} + kFirstSoak;
    for (const weather::Hour& truth : season.plan.truth) {
        if (truth.start < from || truth.start >= season.plan.to) continue;
        const auto hour = watering::hour_demand(place, truth, clouds);
        for (WallTime t = truth.start; t < truth.start + Seconds{3600}; t += kStep) {
            if (state.progress.all_up) return days;
            const double share = sprinkling[days.steps.size()];
            days.steps.push_back(watering::surface_forcing(hour,
                                                           watering::cover_of(spec, state.progress),
                                                           hour.rain_mm_per_h, state.heat.skin_c));
            days.own->hours.push_back(hour);
            days.counts.push_back(hour.daylight && t >= soaked);
            const LocalTime clock = local.to_local(t);
            const auto sunset = weather::sun_times(place, clock.date).sunset;
            days.open.push_back(clock.second_of_day >= kOpens_h * 3600 &&
                                clock.second_of_day < kCloses_h * 3600 &&
                                (!sunset || t + kStep <= *sunset - kEvening));
            watering::advance(spec, state, hour, watering::ground_rate_mm_per_h(spec, hour) * share,
                              kStep, t + kStep);
        }
    }
    return days;
}

// Nights, from two hours before sunset to sunrise, in which sprinklers ran.
int wet_nights(const TrialSeason& season, const TimeZone& local, const Sprinkling& sprinkling) {
    std::set<Date> evenings;
    for (std::size_t i = 0; i < sprinkling.size(); ++i) {
        if (sprinkling[i] <= 0) continue;
        const WallTime t = season.plan.from + kStep * static_cast<int>(i);
        const Date date = local.local_date(t);
        const auto sun = weather::sun_times(season.setup.garden.site.place, date);
        if (sun.sunset && t >= *sun.sunset - kEvening) evenings.insert(date);
        // A run in the last hour of the night dries with the morning.
        if (sun.sunrise && t < *sun.sunrise - Seconds{3600}) evenings.insert(add_days(date, -1));
    }
    return static_cast<int>(evenings.size());
}

JudgedBed judged_bed(const TrialSeason& season) {
    const garden::Zone& zone = season.setup.garden.zones.front();
    const watering::ZoneSpec& spec = season.setup.specs.front();
    JudgedBed bed;
    bed.soil = zone.soil;
    bed.seed_depth_mm = zone.establishment.seed_depth_mm;
    bed.start_kpa = zone.soil_below_kpa;
    bed.start_temp_c = ground_temp_c(season);
    bed.pond_capacity_mm = spec.column.pond_capacity_mm;
    bed.rate_mm_per_h = spec.rate_mm_per_h;
    bed.low_quarter = spec.low_quarter;
    return bed;
}

// Local day of the month, clock, minutes, and what the driest quarter was at as the run began; with
// rain in mm where it fell.
std::string list_of(const JudgedBed& bed, const BedDays& days, const Sprinkling& sprinkling,
                    const judge::Grid& grid, WallTime from, const TimeZone& local) {
    const judge::SaxtonRawls medium = judge_soil(bed.soil);
    judge::Profile low = judged_profile(medium, bed, grid);
    BedSurface surface(days);
    double before_kpa = 0;
    std::string text;
    double minutes = 0, rain_mm = 0;
    const auto clock = [&](std::size_t i) {
        const LocalTime t = local.to_local(from + kStep * static_cast<int>(i));
        return std::to_string(static_cast<unsigned>(t.date.day())) + " " +
               local.clock_text(from + kStep * static_cast<int>(i));
    };
    for (std::size_t i = 0; i < sprinkling.size(); ++i) {
        rain_mm += days.steps[i].supply_mm_per_h * kStep_s / 3600;
        const bool rain_ends = i + 1 == sprinkling.size() || days.steps[i + 1].supply_mm_per_h <= 0;
        if (rain_mm > 0 && rain_ends) {
            text += "    " + clock(i) + " (rain " + std::to_string(rain_mm).substr(0, 4) + ")\n";
            rain_mm = 0;
        }
        if (minutes == 0) before_kpa = low.mean_kpa(bed.seed_depth_mm);
        const double rate = surface.ground_mm_per_h(i, bed.rate_mm_per_h);
        low.advance(
            judged_surface(surface.next(i, sprinkling[i]), sprinkling[i] * rate * bed.low_quarter),
            kStep_s);
        minutes += sprinkling[i] * kStep_s / 60;
        if (minutes > 0 && (i + 1 == sprinkling.size() || sprinkling[i + 1] <= 0)) {
            text += "    " + clock(i) + " " + std::to_string(minutes).substr(0, 4) + " (" +
                    std::to_string(std::lround(before_kpa)) + " kPa before)\n";
            minutes = 0;
        }
    }
    return text;
}

std::vector<std::size_t> timer_starts(const BedDays& days) {
    std::vector<std::size_t> starts;
    for (std::size_t day = 0; day < days.steps.size(); day += 288)
        for (const std::size_t step : {78u, 132u, 186u}) // 06:30, 11:00, 15:30
            starts.push_back(day + step);
    return starts;
}

double start_price_mm(const JudgedBed& bed) {
    return watering::kStartMm / bed.low_quarter;
}

double cost_mm(const compare::Outcome& of, double start_price_mm) {
    return of.water_mm + start_price_mm * static_cast<double>(of.starts);
}

void run_case(Case& c, const Options& options) {
    TrialSeason season = season_of(*c.season, c.soil, options.days);
    const JudgedBed bed = judged_bed(season);
    const TimeZone& local = c.season->local;
    std::array<Sprinkling, kWhos> given;
    const auto all = static_cast<std::size_t>((season.plan.to - season.plan.from) / kStep);
    constexpr std::array<sim::ForecastMode, 3> kModes{
        sim::ForecastMode::perfect, sim::ForecastMode::noisy, sim::ForecastMode::none};
    for (const std::size_t who : {kPerfect, kNoisy, kNone}) {
        season.plan.forecast = kModes[who];
        given[who] = sprinkling_of(run_valves(season), season.plan.from, all);
    }
    const BedDays days = bed_days(season, given[kPerfect], local);
    const std::size_t steps = days.steps.size();
    for (const std::size_t who : {kPerfect, kNoisy, kNone})
        given[who].resize(steps);
    SearchOptions search;
    search.width = static_cast<std::size_t>(options.width);
    // As the planner reckons it, in mm on the driest quarter; water is counted on the whole zone.
    search.price_mm_per_start = options.start_price_mm.value_or(start_price_mm(bed));
    c.start_price_mm = search.price_mm_per_start;
    if (options.alone) {
        given[kTimer] = given[kForesight] = given[kPerfect];
    } else {
        const FixedTimer fixed = best_fixed_timer(bed, days, timer_starts(days), 0.01);
        given[kTimer] = fixed.sprinkling;
        c.timer_min = fixed.minutes;
        Foresight best = foresee(bed, days, search);
        given[kForesight] = std::move(best.sprinkling);
        c.dropped = best.dropped;
    }
    const judge::Grid& grid = options.fine ? usual_grid() : quick_grid();
    for (std::size_t who = 0; who < kWhos; ++who) {
        c.of[who] = judge_schedule(bed, days, given[who], grid);
        c.wet_nights[who] = wet_nights(season, local, given[who]);
        if (options.runs)
            c.runs[who] = list_of(bed, days, given[who], grid, season.plan.from, local);
    }
    // The yardstick is the best schedule that is known, whoever found it: cheaper, no drier.
    for (const std::size_t who : {kPerfect, kNoisy, kNone, kTimer}) {
        const Outcome& best = c.of[kForesight];
        if (cost_mm(c.of[who], search.price_mm_per_start) >=
                cost_mm(best, search.price_mm_per_start) ||
            c.of[who].dry_h > best.dry_h + kSameDryness_h)
            continue;
        c.of[kForesight] = c.of[who];
        c.wet_nights[kForesight] = c.wet_nights[who];
        c.found_by = who;
    }
    for (const auto& step : days.steps)
        c.rain_mm += step.supply_mm_per_h * kStep_s / 3600;
    c.days = static_cast<double>(days.steps.size()) / 288;
}

void print_case(const Case& c) {
    std::printf("%s, %s: %.1f days, rain %.0f mm, timer %d min, %.0f h count\n",
                c.season->name.c_str(), soil::key(c.soil).data(), c.days, c.rain_mm, c.timer_min,
                c.of[0].counted_h);
    for (std::size_t who = 0; who < kWhos; ++who) {
        const Outcome& o = c.of[who];
        std::printf("  %-17s %7.1f %6.2f %7.1f %7.2f %7.2f %7d %7d %8.1f %7.1f %7.1f\n",
                    who == kForesight && c.found_by != who ? "best (not search)" : kNames[who],
                    o.water_mm, c.ratio(who), o.dry_h, o.dry_500_h, o.longest_500_h, o.starts,
                    c.wet_nights[who], o.evaporation_mm, o.deeper_mm, o.runoff_mm);
        std::printf("%s", c.runs[who].c_str());
    }
    std::fflush(stdout);
}

void print_ratios(const std::vector<Case>& cases) {
    std::printf("\nWater over foresight's / dry daylight hours in per cent\n  %-23s %-11s",
                "weather", "soil");
    for (const char* name : kNames)
        std::printf(" %17s", name);
    for (const Case& c : cases) {
        std::printf("\n  %-23s %-11s", c.season->name.c_str(), soil::key(c.soil).data());
        for (std::size_t who = 0; who < kWhos; ++who)
            std::printf("   %5.2f / %5.1f %%", c.ratio(who), 100 * c.of[who].dry_share());
    }
    std::printf("\n\n");
}

double share_pct(double part_mm, double all_mm) {
    return all_mm == 0 ? 0 : 100 * part_mm / all_mm;
}

void print_summary(const std::vector<Case>& cases) {
    constexpr std::array<double, 3> kAims{1.10, 1.20, 1.35};
    for (const std::size_t who : {kPerfect, kNoisy, kNone}) {
        std::vector<double> ratios;
        int within = 0, damp = 0, no_spell = 0, thriftier = 0;
        const Case *dearest = &cases.front(), *driest = &cases.front();
        double water = 0, least = 0, evaporation = 0, deeper = 0;
        double cost = 0, least_cost = 0, worst_cost = 0;
        for (const Case& c : cases) {
            const double mine = cost_mm(c.of[who], c.start_price_mm);
            const double best = cost_mm(c.of[kForesight], c.start_price_mm);
            cost += mine;
            least_cost += best;
            worst_cost = std::max(worst_cost, mine / best);
            ratios.push_back(c.ratio(who));
            within += c.ratio(who) <= kAims[who];
            // Where even foresight is dry: within 5 % of the hours more.
            damp += c.of[who].dry_share() <= std::max(0.01, 1.05 * c.of[kForesight].dry_share());
            no_spell += c.of[who].longest_500_h <= std::max(1.0, c.of[kForesight].longest_500_h);
            thriftier += c.of[who].water_mm <= c.of[kTimer].water_mm &&
                         c.of[who].dry_h <= c.of[kTimer].dry_h + 0.5;
            if (c.ratio(who) > dearest->ratio(who)) dearest = &c;
            if (c.of[who].dry_share() > driest->of[who].dry_share()) driest = &c;
            water += c.of[who].water_mm;
            least += c.of[kForesight].water_mm;
            evaporation += c.of[who].evaporation_mm - c.of[kForesight].evaporation_mm;
            deeper += c.of[who].deeper_mm - c.of[kForesight].deeper_mm;
        }
        std::sort(ratios.begin(), ratios.end());
        std::printf(
            "%s: water %.2f of foresight's in all, %.2f in the middle; within %.2f in %d of "
            "%zu\n  dearest %.2f: %s, %s. Of what is more, %.0f %% evaporates and %.0f %% "
            "goes deeper than 50 mm\n  dry at most 1 %% in %d; driest %.1f %%: %s, %s. No "
            "spell of more than 1 h below -500 kPa in %d\n  no more water than the timer's "
            "and no drier in %d\n  counting %.2f mm for each start: %.2f of foresight's in all, "
            "dearest %.2f\n",
            kNames[who], water / least, ratios[ratios.size() / 2], kAims[who], within, cases.size(),
            dearest->ratio(who), dearest->season->name.c_str(), soil::key(dearest->soil).data(),
            share_pct(evaporation, water - least), share_pct(deeper, water - least), damp,
            100 * driest->of[who].dry_share(), driest->season->name.c_str(),
            soil::key(driest->soil).data(), no_spell, thriftier, cases.front().start_price_mm,
            cost / least_cost, worst_cost);
    }
    std::printf("\n");
}

} // namespace

bool planner(const Options& options) {
    std::vector<MeasuredSeason> seasons;
    if (options.folder) {
        auto read = read_seasons(*options.folder);
        if (!read) return false;
        seasons = std::move(*read);
    } else {
        for (const std::string_view kind : kSixWeathers)
            seasons.push_back(six_weather(kind, options.days));
    }
    std::vector<Case> cases;
    for (const MeasuredSeason& season : seasons)
        for (const soil::TextureClass soil : kPlannerSoils)
            if ((season.name + "," + std::string(soil::key(soil))).find(options.pick) !=
                std::string::npos)
                cases.push_back({&season, soil, {}, {}, {}, 0, 0, 0, 0, 0, kForesight});
    if (cases.empty()) {
        std::fprintf(stderr, "bench: --pick leaves no case; a part of \"WEATHER,SOIL\" is right\n");
        return false;
    }
    std::printf("The planner before emergence (bluegrass, bare bed, %d days at most) beside the "
                "best schedule with perfect\nforesight and the best of fixed timers, judged by the "
                "%s Richards column: mm of water, hours\nof daylight below -100 and -500 kPa in "
                "the driest quarter's top 10 mm, longest spell below -500, and\nof the zone's mean "
                "what evaporated, went below 50 mm, ran off\n\n  %-17s %7s %6s %7s %7s %7s %7s %7s "
                "%8s %7s %7s\n",
                options.days, options.fine ? "fine" : "quick", "", "water", "ratio", "< -100",
                "< -500", "longest", "starts", "nights", "evap.", "deeper", "runoff");
    side_by_side(cases.size(), options.threads, [&](std::size_t i) {
        run_case(cases[i], options);
        const Case& c = cases[i];
        std::fprintf(stderr, "  %s, %s: %.2f perfect, %.2f noisy, %.2f no forecast, %.2f timer\n",
                     c.season->name.c_str(), soil::key(c.soil).data(), c.ratio(kPerfect),
                     c.ratio(kNoisy), c.ratio(kNone), c.ratio(kTimer));
    });
    for (const Case& c : cases)
        print_case(c);
    print_ratios(cases);
    print_summary(cases);
    return true;
}

} // namespace firstmow::bench
