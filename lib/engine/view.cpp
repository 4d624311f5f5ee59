// The garden as people are shown it.
#include "engine/growth.hpp"
#include "engine/parts.hpp"
#include "garden/sensor_words.hpp"
#include "watering/firm.hpp"

#include <algorithm>

namespace firstmow::engine {

namespace {

constexpr Seconds kCourseLength{24 * 3600};
constexpr Seconds kCourseEvery{1800};
constexpr double kWorthShowingMm = 0.1;

watering::Outlook outlook_of(const watering::ZoneSpec& spec, const watering::ZoneState& state,
                             bool driest_quarter, WallTime now) {
    watering::DryTest test;
    test.driest_quarter = driest_quarter;
    return watering::look(spec, state, test, now);
}

// The next day as planned: the next run in it, no further ones, which are not planned yet.
std::vector<CoursePoint> course(const watering::ZoneSpec& spec, const watering::ZoneState& state,
                                const ZoneRuntime& z, std::optional<WallTime> open_until,
                                watering::Hours hours, WallTime now) {
    watering::Outlook mean = outlook_of(spec, state, false, now);
    watering::Outlook low = outlook_of(spec, state, true, now);
    const auto pass_both = [&](WallTime until, bool open) {
        watering::pass(mean, hours, until, open);
        watering::pass(low, hours, until, open);
    };
    std::vector<CoursePoint> points;
    for (WallTime t = now; t <= now + kCourseLength; t += kCourseEvery) {
        if (open_until && mean.at < *open_until) pass_both(std::min(t, *open_until), true);
        if (z.next_start && mean.at <= *z.next_start && *z.next_start < t) {
            pass_both(*z.next_start, false);
        }
        if (z.next_start && mean.at >= *z.next_start) {
            const WallTime end = *z.next_start + Seconds{z.next_run_s};
            if (mean.at < end) pass_both(std::min(t, end), true);
        }
        pass_both(t, false);
        points.push_back({t, soil::seed_zone_kpa(spec.column, mean.column),
                          soil::seed_zone_kpa(spec.column, low.column)});
    }
    return points;
}

std::vector<LayerView> layers_of(const soil::Column& column, const soil::ColumnState& state) {
    std::vector<LayerView> layers;
    double top = 0;
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const soil::Hydraulics& soil = column.soil[k]->hydraulics();
        const double theta = std::min(state.theta[k], soil.saturation);
        layers.push_back({top, column.layers.bottom_mm[k], theta, soil.potential_kpa(theta)});
        top = column.layers.bottom_mm[k];
    }
    return layers;
}

void show_growth(const TimeZone& local, const turf::Progress& progress,
                 const turf::Prospect& prospect, ZoneView& v) {
    v.prospect = prospect;
    v.stand = turf::stand_of(progress);
    v.growth = growth_words(progress, v.prospect, local);
    if (progress.phase == turf::Phase::mature) return;
    v.mow = turf::mow_advice(progress);
    v.keep_off_until = turf::keep_off_until(progress, v.prospect.first_mow.likely);
}

ZoneView zone_view(const Setup& setup, const State& state, std::size_t i, watering::Hours hours,
                   watering::Hours ahead, const turf::Prospect& prospect, const Moment& now) {
    const garden::Zone& zone = setup.garden.zones[i];
    const watering::ZoneSpec spec = own_spec(setup, state, i);
    const ZoneRuntime& z = state.zones[i];
    const watering::ZoneState s = zone_now(setup, state, i, hours, now.wall);
    const turf::Needs needs = turf::needs(s.progress, now.wall);
    ZoneView v;
    v.id = zone.id;
    v.name = zone.name;
    v.phase = s.progress.phase;
    v.progress_pct = turf::progress_pct(s.progress);
    v.valve_open = z.open && z.open->stage != OpenCycle::Stage::opening &&
                   z.open->stage != OpenCycle::Stage::priming;
    if (v.valve_open) {
        const auto left = z.open->mono_start + Seconds{z.open->planned_s} - now.mono;
        v.closes_at = now.wall + std::max(std::chrono::ceil<Seconds>(left), Seconds{0});
    }
    v.rate_mm_per_h = spec.rate_mm_per_h;
    v.low_quarter = spec.low_quarter;
    v.factors = watering::factors(z.estimate);
    if (!z.corrections.empty()) {
        const Correction& last = z.corrections.back().correction;
        v.correction = CorrectionView{last.time, std::string(key(last.cause)), last.why};
    }
    v.seed_depth_mm = zone.establishment.seed_depth_mm;
    v.seed_zone_kpa = soil::seed_zone_kpa(spec.column, s.mean);
    v.low_quarter_kpa = soil::seed_zone_kpa(spec.column, s.low);
    v.threshold_kpa = needs.threshold_kpa;
    v.judge_root_zone = needs.judge_root_zone;
    watering::DryTest test = watering::dry_test(spec, s.progress, needs);
    test.depth_mm = std::max(test.depth_mm, zone.establishment.seed_depth_mm);
    const watering::Outlook judged = watering::look(spec, s, test, now.wall);
    v.depletion = watering::used_share(judged, test);
    if (needs.judge_root_zone && watering::is_dry(judged, test))
        v.sinks_until = watering::sinks_until(z.last_wetted, now.wall);
    v.allowed_depletion = needs.allowed_depletion;
    if (s.progress.method != turf::Method::none)
        show_growth(setup.timezone, s.progress, prospect, v);
    v.cover_fraction = s.progress.cover_fraction;
    v.root_depth_mm = s.progress.root_depth_mm;
    v.soil_temp_c = watering::seed_temp_c(spec, s);
    // A plan that moved by minutes only is not told anew, so its time may have just passed.
    if (z.next_start && !z.open)
        v.next = NextRun{std::max(*z.next_start, now.wall), z.next_run_s, z.explanation};
    v.explanation = z.explanation;
    if (z.hold_until && *z.hold_until > now.wall) v.hold_until = z.hold_until;
    if (const auto until = undo_until(z, now.wall)) {
        v.word = WordView{z.word->number, key(z.word->what), z.word->at, *until,
                          words_of(setup, i, *z.word, z.hold_until, now.wall) + "."};
    }
    if (z.mow_at) {
        v.mow_at = z.mow_at;
        v.firm_from = watering::firm_for(needs, *z.mow_at).from;
    }
    v.lock = z.guard.lock;
    v.usual_l_per_min = z.guard.flow_runs > 0 ? z.guard.usual_l_per_min : 0;
    v.layers = layers_of(spec.column, s.mean);
    v.outlook = course(spec, s, z, v.closes_at, ahead, now.wall);
    if (z.day == setup.timezone.local_date(now.wall)) {
        v.today_mm = z.day_mm;
        v.today_l = z.day_l;
    }
    return v;
}

// "Weather unknown for 9 h; assuming a warm clear day." and the like; empty while all is well.
std::string weather_note(const Setup& setup, const State& state, WallTime now) {
    constexpr std::int64_t kWorthSaying = 3; // hours: a report that is late by less is usual
    const auto last = [&](auto is) -> std::optional<WallTime> {
        for (auto hour = state.recent.rbegin(); hour != state.recent.rend(); ++hour)
            if (is(hour->temp_origin)) return hour->start + kHour;
        return std::nullopt;
    };
    const auto hours_since = [&](WallTime t) { return (now - t).count() / kHour.count(); };
    const auto known = last([](weather::Origin o) { return o != weather::Origin::assumed; });
    const auto measured = last([](weather::Origin o) { return o == weather::Origin::measured; });
    if (think_of(setup, state, floor_hour(now)).temp_origin != weather::Origin::assumed) {
        if (!measured || hours_since(*measured) < kWorthSaying) return {};
        return "Nothing was measured for " + std::to_string(hours_since(*measured)) +
               " h; going by the forecast.";
    }
    if (!known) return "Weather unknown; assuming a warm clear day of the season.";
    if (hours_since(*known) < kWorthSaying) return {};
    return "Weather unknown for " + std::to_string(hours_since(*known)) +
           " h; assuming a warm clear day.";
}

// What a page can show: from the first days of a lawn to what is planned for the next year.
constexpr auto kClockBehind = std::chrono::days(3 * 366);
constexpr auto kClockAhead = std::chrono::days(400);

std::vector<ClockOffset> offsets_about(const TimeZone& timezone, WallTime now) {
    std::vector<ClockOffset> offsets;
    for (const TimeZone::Era& era : timezone.eras()) {
        if (era.from > now + kClockAhead) break;
        if (era.from <= now - kClockBehind) offsets.clear(); // the one before is over by then
        offsets.push_back({era.from, era.utc_offset});
    }
    return offsets;
}

} // namespace

std::vector<turf::Prospect> prospects(const Setup& setup, const State& state, WallTime now) {
    std::vector<turf::Prospect> all;
    for (std::size_t i = 0; state.begun && i < state.zones.size(); ++i)
        all.push_back(prospect_of(setup, state, i, now));
    return all;
}

GardenView view(const Setup& setup, const State& state, const Moment& now,
                std::span<const turf::Prospect> expected) {
    GardenView v;
    v.time = now.wall;
    v.site_name = setup.garden.site.name;
    v.timezone = setup.garden.site.timezone;
    v.clock_offsets = offsets_about(setup.timezone, now.wall);
    v.units = setup.garden.site.units == garden::Units::us ? "us" : "metric";
    for (auto notice = state.notices.rbegin(); notice != state.notices.rend(); ++notice)
        v.notices.push_back({notice->time, notice->zone, std::string(key(notice->severity)),
                             notice->text, notice->code});
    v.stop = state.guards.stop;
    v.clock_trusted = state.guards.clock_trusted;
    for (std::size_t i = 0; i < setup.garden.sensors.size(); ++i) {
        const SensorState& sensor = state.guards.sensors[i];
        SensorView& one = v.sensors.emplace_back();
        one.id = sensor.id;
        one.kind = garden::key(setup.garden.sensors[i].kind);
        one.value = sensor.value;
        if (sensor.heard) one.heard = sensor.heard->wall;
        one.silent = sensor.silent;
    }
    if (!state.begun) return v;
    v.weather_note = weather_note(setup, state, now.wall);
    if (!state.recent.empty()) v.weather_until = state.settled_until;
    const auto hours = hours_ahead(setup, state, now.wall, kCourseLength + kHour);
    const auto skip =
        static_cast<std::size_t>((floor_hour(now.wall) - hours.front().start).count() / 3600);
    const watering::Hours ahead = watering::Hours(hours).subspan(skip);
    for (const weather::Hour& hour : state.forecast)
        if (hour.start >= floor_hour(now.wall) && hour.start < now.wall + kCourseLength &&
            hour.rain_mm >= kWorthShowingMm)
            v.rain_ahead.push_back({hour.start, hour.rain_mm, hour.rain_probability});
    v.air_temp_c = ahead.front().air_temp_c;
    v.et_short_mm_per_h = ahead.front().et_short_mm_per_h;
    std::vector<turf::Prospect> reckoned;
    if (expected.size() != state.zones.size())
        expected = reckoned = prospects(setup, state, now.wall);
    for (std::size_t i = 0; i < state.zones.size(); ++i)
        v.zones.push_back(zone_view(setup, state, i, hours, ahead, expected[i], now));
    return v;
}

} // namespace firstmow::engine
