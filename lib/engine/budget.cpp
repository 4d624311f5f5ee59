// Weather into soil: the budget of every zone, hour by hour.
#include "engine/parts.hpp"
#include "weather/fill.hpp"
#include "weather/usual.hpp"

#include <algorithm>
#include <utility>

namespace firstmow::engine {

namespace {

constexpr std::size_t kRecentHours = 72; // more than two days: see Past
constexpr Seconds kLineEvery{600};
constexpr std::chrono::days kLongestGap{400};
constexpr double kGoodRainMm = 2.0; // in an hour: counts as a wetting

Moisture moisture_line(const Work& work, std::size_t zone, WallTime time) {
    const ZoneRuntime& z = work.state.zones[zone];
    const soil::Column& column = work.setup.specs[zone].column;
    Moisture m;
    m.time = time;
    m.zone = work.setup.garden.zones[zone].id;
    m.phase = z.settled.progress.phase;
    m.seed_zone_mm = soil::seed_zone_mm(column, z.settled.mean);
    m.seed_zone_kpa = soil::seed_zone_kpa(column, z.settled.mean);
    m.low_quarter_kpa = soil::seed_zone_kpa(column, z.settled.low);
    m.root_zone_mm = soil::storage_mm(column, z.settled.mean) + z.settled.mean_held.sum_mm();
    m.evaporation_mm = z.since_line.evaporation_mm - z.since_line.dew_mm;
    m.transpiration_mm = z.since_line.transpiration_mm;
    m.runoff_mm = z.since_line.runoff_mm;
    m.drainage_mm = z.since_line.drainage_mm;
    m.soil_temp_c = watering::seed_temp_c(work.setup.specs[zone], z.settled);
    const turf::Needs needs = turf::needs(z.settled.progress, time);
    if (!needs.judge_root_zone && needs.threshold_kpa > turf::kNoThresholdKpa)
        m.threshold_kpa = needs.threshold_kpa;
    return m;
}

void settle_zone(Work& work, std::size_t zone, const weather::Hour& hour,
                 const watering::HourDemand& demand) {
    ZoneRuntime& z = work.state.zones[zone];
    const watering::ZoneSpec spec = own_spec(work.setup, work.state, zone);
    const double ground_rate = watering::ground_rate_mm_per_h(spec, demand);
    double applied_mm = std::exchange(z.applied_later_mm, 0);
    double rain_mm = 0;
    for (Seconds at{0}; at < kHour; at += watering::kGrid) {
        const WallTime from = hour.start + at;
        const WallTime to = from + watering::kGrid;
        const double rate = ground_rate * open_share(z.applied, from, to);
        const auto step = watering::advance(spec, z.settled, demand, rate, watering::kGrid, to);
        z.since_line += step.mean;
        z.past.flows += step.mean;
        z.newer.flows += step.mean;
        const double grid_hours = static_cast<double>(watering::kGrid.count()) / 3600.0;
        applied_mm += rate * grid_hours;
        rain_mm += demand.rain_mm_per_h * grid_hours;
        if (step.phase_change)
            work.record(PhaseRecord{to, work.setup.garden.zones[zone].id, step.phase_change->from,
                                    step.phase_change->to, step.phase_change->why});
        if ((to - hour.start).count() % kLineEvery.count() == 0) {
            Moisture line = moisture_line(work, zone, to);
            line.applied_mm = applied_mm;
            line.rain_mm = rain_mm;
            work.record(std::move(line));
            z.since_line = {};
            applied_mm = 0;
            rain_mm = 0;
        }
    }
    z.dried_mm = std::max(
        z.dried_mm + watering::zone_et_mm_per_h(demand, &spec.exposure) - hour.rain_mm, 0.0);
    if (hour.rain_mm >= kGoodRainMm) {
        z.last_wetted = hour.start + kHour;
        z.dried_mm = 0;
    }
    std::erase_if(z.applied, [&](const Applied& a) { return a.to && *a.to <= z.past.at; });
}

void settle_one(Work& work, weather::Hour hour) {
    State& state = work.state;
    correct_rain(work.setup, state, hour, work.now.wall);
    weather::CloudMemory clouds = clouds_at(state);
    const watering::HourDemand demand =
        watering::hour_demand(work.setup.garden.site.place, hour, clouds);
    state.cloud_factor = clouds.factor();
    work.record(WeatherUsed{hour, demand.et_short_mm_per_h, source_names(work.setup.garden, hour)});
    for (std::size_t zone = 0; zone < work.zone_count(); ++zone)
        settle_zone(work, zone, hour, demand);
    state.recent.push_back(hour);
    if (state.recent.size() > kRecentHours) state.recent.erase(state.recent.begin());
    state.settled_until = hour.start + kHour;
    keep_record(work.setup, state, hour, demand);
    if (std::chrono::floor<std::chrono::days>(state.settled_until) == state.settled_until)
        for (ZoneRuntime& z : state.zones)
            z.past = std::exchange(z.newer,
                                   Past{state.settled_until, z.settled, state.cloud_factor, {}});
}

// How warm the ground is when nothing but the first hour is known of the season: as a source has
// it, else as the mean of a day of the forecast, else as the air of a usual day, not far from what
// the air is now. The hour alone would start the ground as cold as a night is, or as hot as a noon.
double ground_temp_c(const Work& work, const weather::Hour& first) {
    if (first.soil_temp_c) return *first.soil_temp_c;
    constexpr int kMostOfADay = 18;
    constexpr double kDailyReach_c = 8;
    double sum = 0;
    int known = 0;
    for (const weather::Hour& hour : work.state.forecast) {
        if (known == 24) break;
        sum += hour.air_temp_c;
        ++known;
    }
    if (known >= kMostOfADay) return sum / known;
    const Date date{std::chrono::floor<std::chrono::days>(first.start)};
    return std::clamp(weather::usual_mean_c(work.setup.garden.site.place, day_of_year(date)),
                      first.air_temp_c - kDailyReach_c, first.air_temp_c + kDailyReach_c);
}

} // namespace

double open_share(const std::vector<Applied>& applied, WallTime from, WallTime to) {
    Seconds open{0};
    for (const Applied& a : applied) {
        const WallTime begin = std::max(a.from, from);
        const WallTime end = std::min(a.to.value_or(to), to);
        if (end > begin) open += end - begin;
    }
    const double share =
        static_cast<double>(open.count()) / static_cast<double>((to - from).count());
    return std::min(share, 1.0);
}

watering::ZoneSpec own_spec(const Setup& setup, const State& state, std::size_t zone) {
    return watering::corrected(setup.specs[zone], watering::factors(state.zones[zone].estimate));
}

WallTime floor_hour(WallTime t) {
    return std::chrono::floor<std::chrono::hours>(t);
}

std::string source_names(const garden::Garden& garden, const weather::Hour& hour) {
    if (hour.sources == decltype(hour.sources){}) return {};
    const std::vector<std::string> ids = garden.weather.ids();
    std::string names;
    for (const std::uint8_t source : hour.sources) {
        if (!names.empty()) names += ' ';
        if (source == weather::kGardenSensors)
            names += "sensors";
        else
            names += source >= 1 && source <= ids.size() ? ids[source - 1U] : "-";
    }
    return names;
}

void begin_season(Work& work, const weather::Hour& first) {
    if (work.state.begun) return;
    const WallTime hour_start = first.start;
    const double temp_c = ground_temp_c(work, first);
    work.state.begun = true;
    work.state.settled_until = hour_start;
    for (std::size_t i = 0; i < work.zone_count(); ++i) {
        const garden::Zone& zone = work.setup.garden.zones[i];
        const WallTime start = zone.establishment.start
                                   ? work.setup.timezone.to_wall(*zone.establishment.start, 0)
                                   : hour_start;
        work.state.zones[i].settled =
            watering::initial_state(zone, work.setup.specs[i], temp_c, start);
        const Past past{hour_start, work.state.zones[i].settled, work.state.cloud_factor, {}};
        work.state.zones[i].past = past;
        work.state.zones[i].newer = past;
        // What was sown before the season that we know of has been soaked by somebody else.
        work.state.zones[i].soaked = zone.establishment.method == turf::Method::none ||
                                     start + std::chrono::days{2} < work.now.wall;
    }
}

void settle(Work& work, const weather::Hour& hour) {
    if (hour.start != floor_hour(hour.start)) return; // no hour of ours: sources give whole ones
    begin_season(work, hour);
    if (hour.start < work.state.settled_until) return; // known already, for better or worse
    while (work.state.settled_until < hour.start) {
        // Hours that nobody measured: what was thought of them is taken for what they were.
        const WallTime start = work.state.settled_until;
        if (hour.start - start > kLongestGap) {
            work.notify("", Severity::alarm, "weather_gap",
                        "The weather of more than a year is missing before " +
                            to_iso8601(hour.start) + "; that hour is not used.");
            return;
        }
        settle_one(work, guessed(work.setup, work.state, start));
    }
    settle_one(work, hour);
}

namespace {

void restart_season(Work& work) {
    const weather::Hour guess =
        weather::assume(work.setup.garden.site.place, floor_hour(work.now.wall), {});
    work.state.begun = false;
    work.state.recent.clear();
    work.state.forecast.clear();
    work.state.forecast_record.waiting.clear();
    for (ZoneRuntime& zone : work.state.zones)
        zone.applied.clear();
    begin_season(work, guess);
    work.replan = true;
}

} // namespace

void settle_overdue(Work& work) {
    constexpr Seconds kWaitFor{6 * 3600};
    // A clock that leaps over years has been set, not waited for: what the soil was is long past.
    if (work.now.wall - work.state.settled_until > kLongestGap) {
        work.notify("", Severity::alarm, "clock_leapt",
                    "The clock leapt from " + to_iso8601(work.state.settled_until) + " to " +
                        to_iso8601(work.now.wall) + "; the season begins anew.");
        restart_season(work);
        return;
    }
    while (work.state.settled_until + kHour + kWaitFor <= work.now.wall) {
        settle_one(work, guessed(work.setup, work.state, work.state.settled_until));
        work.replan = true;
    }
}

} // namespace firstmow::engine
