#include "app/backend.hpp"

#include "base/day_words.hpp"
#include "host/clocks.hpp"
#include "host/files.hpp"
#include "renovation/plan.hpp"

#include <algorithm>
#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>

namespace firstmow::app {

namespace {

// The engine wakes every quarter of an hour at the latest, the loop every ten seconds.
constexpr Seconds kLoopStalled{60};

store::Filter filter_of(const http::Span& span) {
    store::Filter filter;
    filter.zone = span.zone;
    filter.from = span.from;
    filter.to = span.to;
    filter.limit = static_cast<int>(span.limit);
    filter.keep = store::Filter::Keep::oldest;
    return filter;
}

void tell_mow(const engine::ZoneView& zone, const TimeZone& local, renovation::LiveDates& live) {
    if (!zone.mow_at || !zone.firm_from) return;
    live.mow = local.local_date(*zone.mow_at);
    live.mow_words = "At " + local.clock_text(*zone.mow_at) + ". No planned water from " +
                     day_words(local.local_date(*zone.firm_from)) + " " +
                     local.clock_text(*zone.firm_from) +
                     " until it is done, unless a seedbed would dry. Report it then.";
}

// The dates of the zones that are under way, as the engine expects them now.
std::vector<renovation::LiveDates> live_dates(const engine::GardenView* view,
                                              const engine::Setup& setup) {
    std::vector<renovation::LiveDates> live;
    if (view == nullptr) return live;
    for (const engine::ZoneView& zone : view->zones) {
        if (zone.growth.empty()) continue;
        const auto of = [&](const turf::When& when) {
            return renovation::milestone_of(when, setup.timezone);
        };
        live.push_back({zone.id,
                        of(zone.prospect.first_green),
                        of(zone.prospect.all_up),
                        of(zone.prospect.rooted),
                        of(zone.prospect.first_mow),
                        of(zone.prospect.grown_in),
                        std::nullopt,
                        {}});
        tell_mow(zone, setup.timezone, live.back());
    }
    return live;
}

// Differs when a date does.
std::string fingerprint(const std::vector<renovation::LiveDates>& live) {
    std::string text;
    for (const renovation::LiveDates& zone : live) {
        text += zone.mow_words + (zone.mow ? to_string(*zone.mow) : std::string());
        for (const renovation::Milestone& milestone :
             {zone.first_green, zone.all_up, zone.rooted, zone.first_mow, zone.grown_in})
            for (const auto& date : {milestone.early, milestone.usual, milestone.late})
                text += date ? to_string(*date) : std::string("-");
    }
    return text;
}

} // namespace

WallTime Backend::now() const {
    return host::wall_now();
}
MonoTime Backend::mono() const {
    return host::mono_now();
}

http::Health Backend::health() const {
    http::Health health;
    health.step_age = control_.since_last_turn();
    if (health.step_age > kLoopStalled) {
        health.ok = false;
        health.detail = "The control loop has not turned for " +
                        std::to_string(health.step_age.count()) + " s.";
    } else if (journal_.in_trouble()) {
        health.ok = false;
        health.detail = "The journal cannot be written just now.";
    }
    return health;
}

std::optional<http::ZoneFacts> Backend::zone(std::string_view id) const {
    for (const garden::Zone& zone : control_.setup().garden.zones)
        if (zone.id == id) return http::ZoneFacts{zone.area_m2, zone.establishment.start};
    return std::nullopt;
}

std::optional<http::SensorFacts> Backend::pushed_sensor(std::string_view id) const {
    for (const garden::Sensor& sensor : control_.setup().garden.sensors)
        if (sensor.id == id && sensor.source == garden::Sensor::Source::push)
            return http::SensorFacts{sensor.scale, sensor.offset};
    return std::nullopt;
}

std::optional<http::SensorPlace> Backend::sensor_place(std::string_view id) const {
    for (const garden::Sensor& sensor : control_.setup().garden.sensors)
        if (sensor.id == id) return http::SensorPlace{sensor.zone, sensor.depth_mm, sensor.tension};
    return std::nullopt;
}

Result<std::string> Backend::calendar() {
    const host::GardenFile& file = control_.garden_file();
    const garden::Garden& garden = file.setup.garden;
    const std::vector<renovation::LiveDates> live = live_dates(control_.view().get(), file.setup);
    const std::string of = file.text + fingerprint(live);
    if (!calendar_.empty() && of == calendar_of_) return calendar_;
    std::vector<renovation::DailyAir> record;
    if (const auto& name = garden.renovation.daily_record) {
        const auto text = host::read_file(host::beside(file.path, *name));
        if (!text) return Error{"the daily record of the garden file cannot be read"};
        auto days = renovation::read_record(*text);
        if (!days) return Error{"the daily record of the garden file: " + days.error().message};
        record = std::move(*days);
    }
    const renovation::Plan plan = renovation::plan_dates(garden, record, live);
    if (plan.zones.empty())
        return Error{"no zone is being established, so there are no dates to give"};
    calendar_ = renovation::ical(plan, host::wall_now());
    calendar_of_ = of;
    return calendar_;
}

namespace {

// Two questions with the same words have the same plan.
std::string words_of(const renovation::Answers& a) {
    const auto number = [](const auto& value) {
        return value ? std::to_string(static_cast<double>(*value)) : std::string("-");
    };
    std::string text = a.zone + "|" + number(a.grass_left_pct) + number(a.slope_pct);
    text += a.units ? (*a.units == garden::Units::us ? "us" : "metric") : "-";
    text += a.traffic ? std::to_string(static_cast<int>(*a.traffic)) : std::string("-");
    text += a.method ? std::to_string(static_cast<int>(*a.method)) : std::string("-");
    text += a.instant ? (*a.instant ? "y" : "n") : "-";
    text += a.start ? to_string(*a.start) : std::string("-");
    text += "|" + number(a.water_price_per_m3);
    for (const renovation::TriedPart& part : a.mix)
        text +=
            "|" + std::to_string(static_cast<int>(part.species)) + ":" + std::to_string(part.parts);
    text += "|";
    if (a.first_frost)
        text += to_string(
            Date{std::chrono::year{2000} / a.first_frost->month() / a.first_frost->day()});
    return text;
}

} // namespace

Status Backend::plan(const renovation::Answers& answers, http::PlanForm form,
                     http::Answer<std::string> answer) {
    const host::GardenFile& file = control_.garden_file();
    auto garden = renovation::with_answers(file.setup.garden, answers);
    if (!garden) return garden.error();
    PlanDesk::Question question;
    question.live = live_dates(control_.view().get(), file.setup);
    // What is tried otherwise than the running season is not that season.
    if (answers.method || answers.start || !answers.mix.empty())
        std::erase_if(question.live, [&](const auto& live) {
            return answers.zone.empty() || live.zone == answers.zone;
        });
    question.calendar = form == http::PlanForm::calendar;
    std::string key = file.text + fingerprint(question.live) + words_of(answers) +
                      (question.calendar ? "calendar" : "json");
    question.garden = std::move(*garden);
    question.local = file.setup.timezone;
    if (const auto& name = question.garden.renovation.daily_record)
        question.record_path = host::beside(file.path, *name);
    if (answers.first_frost) question.frost = renovation::FrostFrom::typical_date;
    question.now = host::wall_now();
    plans_.ask(std::move(key), std::move(question), std::move(answer));
    return Done{};
}

void Backend::submit(engine::Input input, std::function<void(Status)> done) {
    // What an interlock forbids is refused with its reason, not taken and dropped.
    if (const auto refused = control_.refusal(input)) {
        done(Error{*refused});
        return;
    }
    control_.push(std::move(input), [done = std::move(done)] { done(Done{}); });
}

void Backend::foresee(engine::Input input, http::Answer<engine::Foresight> answer) {
    const auto shared = std::make_shared<http::Answer<engine::Foresight>>(std::move(answer));
    const auto seen = [shared](engine::Foresight foresight) { (*shared)(std::move(foresight)); };
    if (!control_.foresee({std::move(input)}, seen))
        (*shared)(Error{"too many ask what would be; ask again in a moment"});
}

template <class T>
void Backend::ask(std::function<Result<T>(store::Store&)> read, http::Answer<T> answer) {
    const auto shared = std::make_shared<http::Answer<T>>(std::move(answer));
    const bool taken = journal_.query([this, shared, read = std::move(read)](store::Store& store) {
        auto result = std::make_shared<Result<T>>(read(store));
        boost::asio::post(io_, [shared, result] { (*shared)(std::move(*result)); });
    });
    if (!taken) (*shared)(Error{"too many questions wait for the journal; ask again in a moment"});
}

void Backend::cycles(const http::Span& span, http::Answer<std::vector<engine::Cycle>> answer) {
    ask<std::vector<engine::Cycle>>(
        [filter = filter_of(span)](store::Store& store) { return store.cycles(filter); },
        std::move(answer));
}

void Backend::decisions(const http::Span& span,
                        http::Answer<std::vector<engine::Decision>> answer) {
    ask<std::vector<engine::Decision>>(
        [filter = filter_of(span)](store::Store& store) { return store.decisions(filter); },
        std::move(answer));
}

void Backend::moisture(const http::Span& span, http::Answer<std::vector<engine::Moisture>> answer) {
    ask<std::vector<engine::Moisture>>(
        [filter = filter_of(span)](store::Store& store) { return store.moisture(filter); },
        std::move(answer));
}

void Backend::phases(const http::Span& span,
                     http::Answer<std::vector<engine::PhaseRecord>> answer) {
    ask<std::vector<engine::PhaseRecord>>(
        [filter = filter_of(span)](store::Store& store) { return store.phases(filter); },
        std::move(answer));
}

namespace {

// The local midnights of `from` to the day after `to`, so that the journal's thread needs no zone.
std::vector<WallTime> midnights(const TimeZone& local, Date from, Date to) {
    std::vector<WallTime> times;
    for (Date date = from; date <= to; date = add_days(date, 1))
        times.push_back(local.to_wall(date, 0));
    times.push_back(local.to_wall(add_days(to, 1), 0));
    return times;
}

// The longest time of one zone, judged as review::ZoneDay tells.
Result<int> dry_lines(store::Store& store, const store::SpanTotals& sum, Date date, WallTime from,
                      WallTime to, const garden::Garden& garden) {
    int most = 0;
    for (const garden::Zone& zone : garden.zones)
        for (const store::SpanTotals::Dry& dry : sum.dry) {
            const std::optional<Date>& start = zone.establishment.start;
            if (dry.zone != zone.id || (start && date < *start)) continue;
            if (start != date) {
                most = std::max(most, dry.lines);
                continue;
            }
            const auto lines = store.dry_lines_after_water(zone.id, from, to);
            if (!lines.ok()) return lines.error();
            most = std::max(most, *lines);
        }
    return most;
}

Result<std::vector<review::DaySummary>> summaries(store::Store& store, Date from,
                                                  const std::vector<WallTime>& midnights,
                                                  const garden::Garden& garden) {
    constexpr int kLineS = 600;
    const std::optional<double>& price_per_m3 = garden.renovation.water_price_per_m3;
    std::vector<review::DaySummary> days;
    for (std::size_t i = 0; i + 1 < midnights.size(); ++i) {
        const auto sum = store.totals(midnights[i], midnights[i + 1]);
        const Date date = add_days(from, static_cast<int>(i));
        const auto dry = sum.ok()
                             ? dry_lines(store, *sum, date, midnights[i], midnights[i + 1], garden)
                             : Result<int>(sum.error());
        if (!dry) return Error{"the journal of those days cannot be read just now"};
        review::DaySummary day{
            date,         sum->hours, sum->high_c,   sum->low_c,    sum->et_short_mm,
            sum->rain_mm, sum->runs,  sum->volume_l, *dry * kLineS, {}};
        if (price_per_m3) day.cost = day.volume_l / 1000 * *price_per_m3;
        days.push_back(day);
    }
    return days;
}

Result<review::DayRecords> records_of(store::Store& store, Date date, WallTime from, WallTime to) {
    constexpr int kMost = 20'000;
    review::DayRecords day{date, from, to, {}, {}, {}, {}, {}, {}};
    const store::Filter filter = filter_of({"", from, to, kMost});
    // A line of moisture tells of the time before it.
    const store::Filter lines = filter_of({"", from + Seconds{1}, to + Seconds{1}, kMost});
    auto weather = store.weather(filter);
    auto cycles = store.cycles(filter);
    auto decisions = store.decisions(filter);
    auto moisture = store.moisture(lines);
    auto phases = store.phases(filter);
    auto notices = store.notices(filter);
    for (const bool ok :
         {weather.ok(), cycles.ok(), decisions.ok(), moisture.ok(), phases.ok(), notices.ok()})
        if (!ok) return Error{"the journal of that day cannot be read just now"};
    day.weather = std::move(*weather);
    day.cycles = std::move(*cycles);
    day.decisions = std::move(*decisions);
    day.moisture = std::move(*moisture);
    day.phases = std::move(*phases);
    day.notices = std::move(*notices);
    return day;
}

} // namespace

void Backend::corrections(const http::Span& span,
                          http::Answer<std::vector<engine::Correction>> answer) {
    ask<std::vector<engine::Correction>>(
        [filter = filter_of(span)](store::Store& store) { return store.corrections(filter); },
        std::move(answer));
}

void Backend::day(Date date, http::Answer<http::Day> answer) {
    constexpr int kDaysBefore = 7;
    const engine::Setup& setup = control_.setup();
    const Date first = add_days(date, -kDaysBefore);
    ask<http::Day>(
        [date, first, times = midnights(setup.timezone, first, date), garden = setup.garden,
         local = setup.timezone](store::Store& store) -> Result<http::Day> {
            auto records = records_of(store, date, times[kDaysBefore], times[kDaysBefore + 1]);
            if (!records) return records.error();
            const auto before = summaries(store, first, times, garden);
            if (!before) return before.error();
            http::Day day{std::move(*records), {}};
            day.review = review::review_day(day.records, *before, garden, local);
            return day;
        },
        std::move(answer));
}

void Backend::days(Date from, Date to, http::Answer<std::vector<review::DaySummary>> answer) {
    ask<std::vector<review::DaySummary>>(
        [from, times = midnights(control_.setup().timezone, from, to),
         garden = control_.setup().garden](store::Store& store) {
            return summaries(store, from, times, garden);
        },
        std::move(answer));
}

Date Backend::today() const {
    return control_.setup().timezone.local_date(now());
}

Date Backend::season_start() const {
    Date first = today();
    for (const garden::Zone& zone : control_.setup().garden.zones)
        if (zone.establishment.start) first = std::min(first, *zone.establishment.start);
    return first;
}

void Backend::weather(http::Answer<http::Weather> answer) {
    const WallTime now = host::wall_now();
    std::string desk = weather_ != nullptr ? weather_->report(now) : std::string();
    store::Filter filter;
    filter.from = now - std::chrono::hours{25};
    ask<http::Weather>(
        [filter, desk = std::move(desk)](store::Store& store) -> Result<http::Weather> {
            auto used = store.weather(filter);
            if (!used) return Error{"the journal of the weather cannot be read just now"};
            return http::Weather{desk, std::move(*used)};
        },
        std::move(answer));
}

Status Backend::station(std::string_view source, std::string_view text, bool json) {
    if (weather_ == nullptr) return Error{"the garden has no source of weather"};
    return weather_->push(source, text, json, host::wall_now());
}

Result<http::GardenText> Backend::garden_text() const {
    const host::GardenFile& file = control_.garden_file();
    auto text = host::read_file(file.path, host::kLargestGarden);
    if (!text) return text.error();
    http::GardenText garden;
    garden.in_force = *text == file.text;
    garden.text = std::move(*text);
    garden.why_not = host::why_not_replaceable(file.path);
    return garden;
}

http::GardenTrial Backend::try_garden(const std::string& text) const {
    http::GardenTrial trial;
    // Errors name the file as its owner knows it, not where this machine keeps it.
    auto loaded = host::garden_from_text("garden.toml", text);
    if (auto* faults = std::get_if<std::vector<std::string>>(&loaded)) {
        trial.faults = std::move(*faults);
        return trial;
    }
    const engine::Setup& setup = std::get<host::GardenFile>(loaded).setup;
    for (const garden::Caution& caution : setup.garden.cautions)
        trial.cautions.push_back(caution.message);
    trial.effects = control_.effects(setup);
    return trial;
}

void Backend::change_garden(std::string before, std::string text, std::string said,
                            http::Answer<http::GardenWritten> answer) {
    if (writing_) return answer(Error{"somebody else is changing it just now; try again"});
    const auto shared = std::make_shared<http::Answer<http::GardenWritten>>(std::move(answer));
    // Disks take their time: on the journal's thread, and into force on the loop.
    writing_ = journal_.query([this, shared, path = control_.garden_file().path,
                               before = std::move(before), text = std::move(text),
                               said = std::move(said)](store::Store&) {
        auto written = host::replace_file(path, before, text);
        boost::asio::post(io_, [this, shared, said, written = std::move(written)] {
            writing_ = false;
            if (!written) return (*shared)(written.error());
            if (*written == host::Replaced::other_content)
                return (*shared)(http::GardenWritten::changed_meanwhile);
            control_.push(engine::Remark{engine::Severity::note, "garden_changed", said});
            if (const Status taken = reload_(); !taken) return (*shared)(taken.error());
            (*shared)(http::GardenWritten::done);
        });
    });
    if (!writing_) (*shared)(Error{"the disk is busy; try again in a moment"});
}

} // namespace firstmow::app
