#include "app/backend.hpp"

#include "host/clocks.hpp"
#include "host/files.hpp"
#include "renovation/plan.hpp"

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
        if (zone.id == id) return http::ZoneFacts{zone.area_m2};
    return std::nullopt;
}

Result<std::string> Backend::calendar() {
    const host::GardenFile& file = control_.garden_file();
    if (!calendar_.empty() && file.text == calendar_of_) return calendar_;
    const garden::Garden& garden = file.setup.garden;
    std::vector<renovation::DailyAir> record;
    if (const auto& name = garden.renovation.daily_record) {
        const auto text = host::read_file(host::beside(file.path, *name));
        if (!text) return Error{"the daily record of the garden file cannot be read"};
        auto days = renovation::read_record(*text);
        if (!days) return Error{"the daily record of the garden file: " + days.error().message};
        record = std::move(*days);
    }
    const renovation::Plan plan = renovation::plan_dates(garden, record);
    if (plan.zones.empty())
        return Error{"no zone is being established, so there are no dates to give"};
    calendar_ = renovation::ical(plan);
    calendar_of_ = file.text;
    return calendar_;
}

void Backend::submit(engine::Input input, std::function<void(Status)> done) {
    control_.push(std::move(input), [done = std::move(done)] { done(Done{}); });
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

void Backend::day(Date date, http::Answer<http::Day> answer) {
    const TimeZone& local = control_.setup().timezone;
    const WallTime from = local.to_wall(date, 0);
    const WallTime to = local.to_wall(add_days(date, 1), 0);
    ask<http::Day>(
        [date, from, to](store::Store& store) -> Result<http::Day> {
            http::Day day{date, from, to, {}, {}, {}, {}, {}, {}};
            const store::Filter filter = filter_of({"", from, to, 20'000});
            auto weather = store.weather(filter);
            auto cycles = store.cycles(filter);
            auto decisions = store.decisions(filter);
            auto moisture = store.moisture(filter);
            auto phases = store.phases(filter);
            auto notices = store.notices(filter);
            for (const bool ok : {weather.ok(), cycles.ok(), decisions.ok(), moisture.ok(),
                                  phases.ok(), notices.ok()})
                if (!ok) return Error{"the journal of that day cannot be read just now"};
            day.weather = std::move(*weather);
            day.cycles = std::move(*cycles);
            day.decisions = std::move(*decisions);
            day.moisture = std::move(*moisture);
            day.phases = std::move(*phases);
            day.notices = std::move(*notices);
            return day;
        },
        std::move(answer));
}

} // namespace firstmow::app
