#include "fake_backend.hpp"

#include "garden/read.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace firstmow::http {
namespace {

template <class Row, class Time>
std::vector<Row> select(const std::vector<Row>& all, const Span& span, Time time) {
    std::vector<Row> rows;
    for (const Row& row : all) {
        if (rows.size() == span.limit) break;
        if (!span.zone.empty() && row.zone != span.zone) continue;
        if (time(row) >= span.from && time(row) < span.to) rows.push_back(row);
    }
    return rows;
}

} // namespace

FakeBackend::FakeBackend(WallTime now) : now_(now) {
    auto view = std::make_shared<engine::GardenView>();
    view->time = now;
    view->site_name = "Orchard Lane";
    view->timezone = "America/Chicago";
    view->clock_offsets = {{wall_from_unix(1772956800), Seconds{-5 * 3600}}, // 2026-03-08
                           {wall_from_unix(1793516400), Seconds{-6 * 3600}}};
    view->units = "metric";
    view_ = view;
}

MonoTime FakeBackend::mono() const {
    const std::lock_guard lock(mutex_);
    return mono_;
}

void FakeBackend::advance(Seconds time) {
    const std::lock_guard lock(mutex_);
    mono_ += time;
}

std::vector<engine::Input> FakeBackend::orders() const {
    const std::lock_guard lock(mutex_);
    return orders_;
}

std::optional<ZoneFacts> FakeBackend::zone(std::string_view id) const {
    for (const auto& zone : view_->zones)
        if (zone.id == id) return ZoneFacts{90, add_days(today(), -9)};
    return std::nullopt;
}

void FakeBackend::set_now(WallTime now) {
    now_ = now;
    change([&](engine::GardenView& view) { view.time = now; });
}

void FakeBackend::change(const std::function<void(engine::GardenView&)>& how) {
    auto next = std::make_shared<engine::GardenView>(*view_);
    how(*next);
    view_ = std::move(next);
    if (changed_) changed_();
}

void FakeBackend::obey(const engine::Input& input) {
    change([&](engine::GardenView& view) {
        for (engine::ZoneView& zone : view.zones) {
            if (const auto* water = std::get_if<engine::WaterOrder>(&input);
                water != nullptr && water->zone == zone.id) {
                zone.valve_open = true;
                zone.closes_at = now_ + Seconds(water->run_s);
            } else if (const auto* stop = std::get_if<engine::StopOrder>(&input);
                       stop != nullptr && (stop->zone.empty() || stop->zone == zone.id)) {
                zone.valve_open = false;
                zone.closes_at.reset();
            } else if (const auto* hold = std::get_if<engine::HoldOrder>(&input);
                       hold != nullptr && hold->zone == zone.id) {
                zone.hold_until = hold->until;
            } else if (const auto* release = std::get_if<engine::HoldRelease>(&input);
                       release != nullptr && release->zone == zone.id) {
                zone.hold_until.reset();
            } else if (const auto* mow = std::get_if<engine::MowPlan>(&input);
                       mow != nullptr && mow->zone == zone.id) {
                zone.mow_at = mow->at;
                zone.firm_from.reset();
                if (mow->at) zone.firm_from = *mow->at - Seconds(12 * 3600);
            }
        }
    });
}

void FakeBackend::submit(engine::Input input, std::function<void(Status)> done) {
    if (!refuse_orders_.empty()) return done(Error{refuse_orders_});
    {
        const std::lock_guard lock(mutex_);
        orders_.push_back(input);
    }
    obey(input);
    done(Done{});
}

Result<GardenText> FakeBackend::garden_text() const {
    if (garden_.text.empty()) return Error{"No such file"};
    return garden_;
}

GardenTrial FakeBackend::try_garden(const std::string& text) const {
    GardenTrial trial;
    const auto read = garden::read(text);
    if (const auto* errors = std::get_if<std::vector<garden::FileError>>(&read))
        for (const garden::FileError& error : *errors)
            trial.faults.push_back(garden::located("garden.toml", error));
    else
        trial.effects = {"Nothing of the season changes."};
    return trial;
}

void FakeBackend::change_garden(std::string before, std::string text, std::string said,
                                Answer<GardenWritten> answer) {
    if (garden_.text != before) return answer(GardenWritten::changed_meanwhile);
    garden_.text = std::move(text);
    garden_said_.push_back(std::move(said));
    answer(GardenWritten::done);
}

void FakeBackend::cycles(const Span& span, Answer<std::vector<engine::Cycle>> answer) {
    if (never_answer_) return;
    answer(select(cycles_, span, [](const auto& row) { return row.start; }));
}
void FakeBackend::decisions(const Span& span, Answer<std::vector<engine::Decision>> answer) {
    answer(select(decisions_, span, [](const auto& row) { return row.time; }));
}
void FakeBackend::moisture(const Span& span, Answer<std::vector<engine::Moisture>> answer) {
    answer(select(moisture_, span, [](const auto& row) { return row.time; }));
}
void FakeBackend::corrections(const Span& span, Answer<std::vector<engine::Correction>> answer) {
    answer(select(corrections_, span, [](const auto& row) { return row.time; }));
}

void FakeBackend::phases(const Span& span, Answer<std::vector<engine::PhaseRecord>> answer) {
    answer(select(phases_, span, [](const auto& row) { return row.time; }));
}

namespace {

// The garden lies at UTC-5.
constexpr std::chrono::hours kLocalLag{5};

WallTime local_midnight(Date date) {
    return WallTime{std::chrono::sys_days{date}} + kLocalLag;
}

} // namespace

Date FakeBackend::today() const {
    return Date{std::chrono::floor<std::chrono::days>(now_ - kLocalLag)};
}
Date FakeBackend::season_start() const {
    return add_days(today(), -9);
}

void FakeBackend::day(Date date, Answer<Day> answer) {
    if (throw_) throw std::runtime_error("no memory");
    garden::Garden garden;
    for (const engine::ZoneView& zone : view_->zones) {
        garden.zones.emplace_back();
        garden.zones.back().id = zone.id;
        garden.zones.back().name = zone.name;
    }
    Day day;
    review::DayRecords& records = day.records;
    records.date = date;
    records.from = local_midnight(date);
    records.to = local_midnight(add_days(date, 1));
    const Span span{"", records.from, records.to, 100'000};
    records.cycles = select(cycles_, span, [](const auto& row) { return row.start; });
    records.decisions = select(decisions_, span, [](const auto& row) { return row.time; });
    records.moisture = select(moisture_, span, [](const auto& row) { return row.time; });
    const TimeZone local("Here", {{WallTime{}, -Seconds(kLocalLag), "X"}});
    day.review = review::review_day(records, {}, garden, local);
    answer(std::move(day));
}

void FakeBackend::days(Date from, Date to, Answer<std::vector<review::DaySummary>> answer) {
    std::vector<review::DaySummary> days;
    for (Date date = from; date <= to; date = add_days(date, 1)) {
        const double warm = static_cast<double>(days.size() % 5);
        days.push_back({date, 24, 26 + 2 * warm, 14, 4.5 + warm / 2, 0, 5, 420, 0, 1.05});
    }
    answer(std::move(days));
}

void FakeBackend::foresee(engine::Input input, Answer<engine::Foresight> answer) {
    if (!refuse_orders_.empty()) return answer(Error{refuse_orders_});
    engine::Foresight seen{now_, now_ + std::chrono::hours(24), {}, {}};
    const auto* water = std::get_if<engine::WaterOrder>(&input);
    for (const engine::ZoneView& zone : view_->zones) {
        engine::ZoneForesight& one = seen.zones.emplace_back();
        one.zone = zone.id;
        one.lowest_kpa = -60;
        if (water != nullptr && water->zone == zone.id) {
            one.runs.push_back({now_, water->run_s, "person"});
            one.runs.push_back({now_ + Seconds(water->run_s * 20), 420, "seed_zone_drying"});
        }
    }
    answer(std::move(seen));
}

namespace {

using std::chrono::hours;
using std::chrono::minutes;

// What is different between the invented zones.
struct Sketch {
    const char* id;
    const char* name;
    turf::Phase phase;
    double threshold_kpa;
    double damp_kpa;     // right after water
    double drying_per_h; // kPa to the power of ... a factor per sunny hour
    double progress_pct;
    double cover;
    double root_mm;
    std::vector<int> runs_h; // hours before (negative) and after now at which water comes
    int run_s;
};

// 0 at night, 1 at solar noon; the invented garden lies at UTC-5.
double sun(WallTime t) {
    const double hour = std::fmod(static_cast<double>(to_unix(t)) / 3600.0 - 5.0, 24.0);
    return std::max(0.0, std::sin((hour - 6.5) / 12.5 * std::numbers::pi));
}

// Wetness that dries under the sun and comes back with each run.
std::vector<std::pair<WallTime, double>> course(const Sketch& sketch, WallTime now) {
    std::vector<std::pair<WallTime, double>> points;
    double kpa = sketch.damp_kpa * 1.4;
    for (int m = -24 * 60; m <= 24 * 60; m += 10) {
        const WallTime t = now + minutes(m);
        kpa *= std::pow(sketch.drying_per_h, sun(t) / 6.0);
        for (const int run : sketch.runs_h)
            if (m >= run * 60 && m < run * 60 + 20) kpa = std::max(kpa, sketch.damp_kpa);
        if (m >= -1200 && m < -1140) kpa = std::max(kpa, sketch.damp_kpa * 0.8); // the shower
        kpa = std::max(kpa, -3000.0);
        points.emplace_back(t, kpa);
    }
    return points;
}

void plant_zone(FakeBackend& backend, engine::GardenView& view, const Sketch& sketch) {
    const WallTime now = view.time;
    engine::ZoneView zone;
    zone.id = sketch.id;
    zone.name = sketch.name;
    zone.phase = sketch.phase;
    zone.threshold_kpa = sketch.threshold_kpa;
    zone.progress_pct = sketch.progress_pct;
    zone.cover_fraction = sketch.cover;
    zone.root_depth_mm = sketch.root_mm;
    zone.seed_depth_mm = 6;
    zone.rate_mm_per_h = 12;
    zone.judge_root_zone = sketch.phase == turf::Phase::mature;
    zone.depletion = 0.31;
    zone.allowed_depletion = zone.judge_root_zone ? 0.5 : 0;
    zone.soil_temp_c = 24.3;
    for (const auto& [time, low] : course(sketch, now)) {
        if (time <= now) {
            zone.low_quarter_kpa = low;
            zone.seed_zone_kpa = low * 0.6;
            engine::Moisture row;
            row.time = time;
            row.zone = sketch.id;
            row.phase = sketch.phase;
            row.low_quarter_kpa = low;
            row.seed_zone_kpa = low * 0.6;
            row.seed_zone_mm = 1.6;
            row.root_zone_mm = 61.2;
            row.evaporation_mm = 0.06 * sun(time);
            const auto ago = now - time;
            if (ago <= hours(20) && ago > hours(19)) row.rain_mm = 0.9;
            row.soil_temp_c = 22;
            backend.moisture_.push_back(row);
        } else if ((time - now) % minutes(30) == Seconds(0)) {
            zone.outlook.push_back({time, low * 0.6, low});
        }
    }
    const double tops[] = {0, 3, 10, 25, 60, 150, 300};
    for (int i = 0; i < 6; ++i) {
        const double share = static_cast<double>(i) / 5;
        zone.layers.push_back({tops[i], tops[i + 1], 0.31 - 0.02 * i,
                               zone.seed_zone_kpa * 1.8 * (1 - share) - 60 * share * share - 4});
    }
    for (const int run : sketch.runs_h) {
        const WallTime start = now + hours(run);
        if (run <= 0) {
            engine::Cycle cycle;
            cycle.id = static_cast<std::int64_t>(backend.cycles_.size()) + 1;
            cycle.zone = sketch.id;
            cycle.start = start;
            cycle.end = start + Seconds(sketch.run_s);
            cycle.planned_s = cycle.run_s = sketch.run_s;
            cycle.depth_mm = 12.0 * sketch.run_s / 3600;
            cycle.volume_l = cycle.depth_mm * 90;
            cycle.reason = "keep_damp";
            backend.cycles_.push_back(cycle);
            zone.today_mm += cycle.depth_mm;
            zone.today_l += cycle.volume_l;
        } else {
            zone.planned.push_back({start + minutes(10), sketch.run_s, "seed_zone_drying"});
        }
        if (run > 0 && !zone.next) {
            zone.next = engine::NextRun{
                start + minutes(10), sketch.run_s,
                "The driest quarter would pass its limit about half an hour later under a clear "
                "sky."};
        }
    }
    zone.explanation =
        zone.next ? zone.next->explanation : "No water is needed as far as the forecast reaches.";
    if (zone.id == "side") {
        zone.factors.evaporation = 1.08;
        zone.correction = engine::CorrectionView{
            view.time - hours(5), "surface_dry",
            "Side strip was reported dry on top where the model had -40 kPa: it is now taken that "
            "it dries 8 % faster."};
    }
    view.zones.push_back(std::move(zone));
}

} // namespace

void plant_garden(FakeBackend& backend) {
    using turf::Phase;
    const Sketch sketches[] = {
        {"front",
         "Front lawn",
         Phase::emergence,
         -100,
         -9,
         2.4,
         62,
         0.12,
         25,
         {-22, -8, -5, -3, -1, 2, 5, 17, 20, 23},
         420},
        {"side",
         "Side strip, overseeded",
         Phase::pre_germination,
         -60,
         -10,
         3.2,
         18,
         0.4,
         20,
         {-22, -7, -4, 1, 4, 18, 21},
         300},
        {"sod", "Sod by the gate", Phase::rooting, -50, -7, 1.6, 100, 0.95, 60, {-9, -4, 19}, 900},
        {"bed", "Old bed", Phase::mature, -400, -25, 1.25, 100, 1, 250, {}, 1800},
    };
    backend.change([&](engine::GardenView& view) {
        view.weather_until = view.time - minutes(12);
        view.air_temp_c = 31.4;
        view.et_short_mm_per_h = 0.62;
        for (const Sketch& sketch : sketches)
            plant_zone(backend, view, sketch);
        view.notices.push_back({view.time - hours(3), "side", "warning",
                                "The tap cannot serve every zone before 14:00 on the hottest day; "
                                "straw on the side strip would help.",
                                "tap_too_small"});
        view.notices.push_back({view.time - hours(19), "", "note",
                                "A shower brought 5.4 mm between 18:00 and 19:00.", ""});
    });
    const auto by_time = [](const auto& a, const auto& b) { return a.time < b.time; };
    std::stable_sort(backend.moisture_.begin(), backend.moisture_.end(), by_time);
    std::stable_sort(backend.cycles_.begin(), backend.cycles_.end(),
                     [](const auto& a, const auto& b) { return a.start < b.start; });
}

} // namespace firstmow::http
