#include "weather/desk_source.hpp"

#include "host/files.hpp"
#include "tables/json_text.hpp"
#include "weather/csv_source.hpp"
#include "weather/desk_codec.hpp"
#include "weather/mqtt_feed.hpp"
#include "weather/service_feed.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using Kind = garden::WeatherFeed::Kind;

// A source that fails for so long is worth a word.
constexpr hours kWorthSaying{3};
constexpr hours kReportAhead{24};

// The garden's weather file as one source among others: hours that have passed were measured, what
// lies ahead is its forecast.
class CsvFeed : public Feed {
public:
    CsvFeed(CsvSource file, std::uint8_t number) : file_(std::move(file)), number_(number) {}

    std::vector<weather::Parcel> collect(WallTime now) override {
        std::vector<engine::Remark> remarks;
        const std::vector<weather::Reading> fresh = file_.read_on(remarks);
        trouble_ = remarks.empty() ? "" : remarks.back().text;
        if (fresh.empty()) return {};
        last_ = now;
        // A file may hold years: what is of use are the last days and those ahead.
        std::vector<weather::Parcel> parcels(2);
        for (weather::Parcel& parcel : parcels) {
            parcel.source = number_;
            parcel.retrieved = now;
        }
        parcels[0].kind = weather::ParcelKind::measured;
        parcels[1].kind = weather::ParcelKind::forecast;
        for (const weather::Reading& reading : fresh) {
            if (reading.start < now - weather::kKeepBack) continue;
            auto& to = parcels[reading.start + hours{1} <= now ? 0 : 1].readings;
            if (to.size() < weather::kMostReadings) to.push_back(reading);
        }
        std::erase_if(parcels, [](const weather::Parcel& p) { return p.readings.empty(); });
        return parcels;
    }
    FeedStatus status(WallTime /*now*/) const override {
        FeedStatus status;
        status.last_good = last_;
        status.detail = trouble_;
        status.state = !trouble_.empty() ? FeedStatus::State::failing
                       : last_           ? FeedStatus::State::ok
                                         : FeedStatus::State::starting;
        return status;
    }

private:
    CsvSource file_;
    std::uint8_t number_;
    std::optional<WallTime> last_;
    std::string trouble_;
};

std::vector<weather::DeskSource> desk_sources(const garden::WeatherSource& weather) {
    std::vector<weather::DeskSource> sources;
    if (weather.csv_file) sources.push_back({"csv", true});
    for (const garden::WeatherFeed& feed : weather.feeds)
        sources.push_back({feed.id, feed.kind == Kind::push || feed.kind == Kind::mqtt});
    return sources;
}

const char* key(FeedStatus::State state) {
    switch (state) {
    case FeedStatus::State::starting:
        return "starting";
    case FeedStatus::State::ok:
        return "ok";
    case FeedStatus::State::failing:
        break;
    }
    return "failing";
}

const char* key(weather::Origin origin) {
    constexpr const char* kKeys[] = {"measured", "forecast", "estimated", "assumed"};
    return kKeys[static_cast<std::size_t>(origin)];
}

void write_hour(tables::JsonWriter& w, const weather::Hour& hour) {
    w.open('{').time("time", hour.start);
    w.number("air_temp_c", hour.air_temp_c, 1).text("air_temp_origin", key(hour.temp_origin));
    w.number("rel_humidity_pct", hour.rel_humidity_pct, 0)
        .text("rel_humidity_origin", key(hour.humidity_origin));
    w.number("wind_2m_m_s", hour.wind_2m_m_s, 1).text("wind_origin", key(hour.wind_origin));
    w.number("solar_w_m2", hour.solar_w_m2, 0).text("solar_origin", key(hour.solar_origin));
    w.number("rain_mm", hour.rain_mm, 2).text("rain_origin", key(hour.rain_origin));
    w.number("rain_probability", hour.rain_probability, 2).close();
}

} // namespace

DeskSource::DeskSource(const garden::Garden& garden, const std::string& garden_file,
                       WallTime not_before)
    : not_before_(not_before), desk_(garden.site.place, desk_sources(garden.weather), not_before) {
    std::uint8_t number = 0;
    const auto beside = [&](const std::optional<std::string>& name) {
        return name ? host::beside(garden_file, *name) : std::string();
    };
    if (garden.weather.csv_file)
        feeds_.push_back(
            std::make_unique<CsvFeed>(CsvSource(beside(garden.weather.csv_file), garden.site.place,
                                                not_before - weather::kKeepBack),
                                      ++number));
    for (const garden::WeatherFeed& feed : garden.weather.feeds) {
        ++number;
        const auto cannot = [&](const std::string& why) {
            feeds_.push_back(nullptr);
            remarks_.push_back(
                {engine::Severity::warning, "weather_source",
                 "The weather source " + feed.id + " could not be begun: " + why + "."});
        };
        if (feed.kind == Kind::push) {
            feeds_.push_back(std::make_unique<PushFeed>(number, feed.wind_height_m));
        } else if (feed.kind == Kind::mqtt) {
            MqttFeed::Setup setup{feed, beside(feed.certificates), {}};
            if (feed.password_file) {
                const Result<std::string> secret =
                    host::read_file(beside(feed.password_file), 4096);
                if (!secret) {
                    cannot(secret.error().message);
                    continue;
                }
                setup.password = *secret;
                while (!setup.password.empty() &&
                       (setup.password.back() == '\n' || setup.password.back() == '\r'))
                    setup.password.pop_back();
            }
            auto mqtt = MqttFeed::start(std::move(setup), number);
            if (mqtt)
                feeds_.push_back(std::move(*mqtt));
            else
                cannot(mqtt.error().message);
        } else {
            ServiceFeed::Setup setup;
            setup.base = base_url(feed);
            setup.user_agent = user_agent(feed);
            setup.ca_file = beside(feed.certificates);
            setup.pace.every = Seconds{feed.every_s};
            feeds_.push_back(std::make_unique<ServiceFeed>(
                make_service(feed, garden.site.place, number), std::move(setup)));
        }
    }
    told_.resize(feeds_.size());
}

DeskSource::DeskSource(const weather::Place& place, std::vector<weather::DeskSource> sources,
                       std::vector<std::unique_ptr<Feed>> feeds, WallTime not_before)
    : not_before_(not_before),
      desk_(place, std::move(sources), not_before),
      feeds_(std::move(feeds)),
      told_(feeds_.size()) {}

DeskSource::~DeskSource() = default;

News DeskSource::look(WallTime now) {
    News news;
    news.remarks = std::exchange(remarks_, {});
    for (std::size_t i = 0; i < feeds_.size(); ++i) {
        if (!feeds_[i]) continue;
        for (const weather::Parcel& parcel : feeds_[i]->collect(now))
            desk_.take(parcel, now);
        tell_of(i, now, news);
    }
    weather::DeskNews from_desk = desk_.look(now);
    news.passed = std::move(from_desk.passed);
    news.ahead = std::move(from_desk.ahead);
    for (std::string& said : from_desk.said)
        news.remarks.push_back({engine::Severity::warning, "weather_doubtful", std::move(said)});
    return news;
}

// A source that has been failing for hours is told once, and once that it is back.
void DeskSource::tell_of(std::size_t feed, WallTime now, News& news) {
    Told& told = told_[feed];
    const FeedStatus status = feeds_[feed]->status(now);
    const std::string& id = desk_.sources()[feed].id;
    if (status.state == FeedStatus::State::ok) {
        if (told.said)
            news.remarks.push_back({engine::Severity::note, "weather_source_back",
                                    "The weather source " + id + " is back."});
        told = {};
        return;
    }
    // Starting counts too: a broker that never answers is no better.
    if (!told.failing_since || *told.failing_since > now) told.failing_since = now;
    if (told.said || now - *told.failing_since < kWorthSaying) return;
    told.said = true;
    news.remarks.push_back({engine::Severity::warning, "weather_source",
                            "The weather source " + id + " has not worked for " +
                                std::to_string(kWorthSaying.count()) + " h: " + status.detail +
                                "."});
}

Status DeskSource::push(std::string_view id, std::string_view text, bool json, WallTime now) {
    for (std::size_t i = 0; i < feeds_.size(); ++i) {
        auto* const station = dynamic_cast<PushFeed*>(feeds_[i].get());
        if (station != nullptr && (id.empty() || desk_.sources()[i].id == id))
            return station->take(text, json, now);
    }
    return Source::push(id, text, json, now);
}

std::string DeskSource::report(WallTime now) const {
    tables::JsonWriter w;
    w.open('{').time("time", now).time("known_until", desk_.state().next);
    w.open('[', "sources");
    for (std::size_t i = 0; i < feeds_.size(); ++i) {
        const weather::DeskState::Source& s = desk_.state().sources[i];
        const FeedStatus status = feeds_[i] ? feeds_[i]->status(now) : FeedStatus{};
        w.open('{').text("id", desk_.sources()[i].id);
        w.text("gives", desk_.sources()[i].measures ? "measurements" : "forecast");
        w.text("state", feeds_[i] ? key(status.state) : "off").text("detail", status.detail);
        w.time("last_good", status.last_good).time("last_tried", status.last_tried);
        w.time("next_try", status.next_try).integer("failures", status.failures);
        w.time("last_measured", s.last_measured).time("last_forecast", s.last_forecast);
        std::optional<WallTime> newest;
        if (!s.measured.empty()) newest = s.measured.rbegin()->first;
        w.time("newest_measured_hour", newest);
        w.integer("measured_hours", static_cast<long long>(s.measured.size()));
        const auto ahead = std::distance(s.forecast.upper_bound(now - hours{1}), s.forecast.end());
        w.integer("forecast_hours_ahead", static_cast<long long>(ahead));
        const weather::Bias bias = desk_.bias(i, now);
        if (bias.hours > 0) {
            w.open('{', "corrected_by").integer("from_hours", bias.hours);
            w.number("temp_c", bias.temp_c, 1).number("humidity_pct", bias.humidity_pct, 0);
            w.number("wind_factor", bias.wind_factor, 2);
            w.number("solar_factor", bias.solar_factor, 2).close();
        } else {
            w.null("corrected_by");
        }
        w.open('{', "flagged");
        for (std::size_t f = 0; f < weather::kFlaws; ++f)
            w.integer(weather::key(static_cast<weather::Flaw>(f)), s.flag_counts[f]);
        w.close();
        w.open('[', "doubts");
        for (auto flag = s.flags.rbegin(); flag != s.flags.rend(); ++flag)
            w.raw_item(tables::json_text(weather::words(*flag)));
        w.close().close();
    }
    w.close();
    w.open('[', "ahead");
    for (const weather::Hour& hour : desk_.state().ahead)
        if (hour.start > now - hours{1} && hour.start < now + kReportAhead) write_hour(w, hour);
    w.close().close();
    return w.take();
}

std::string DeskSource::save() const {
    return encode_desk(desk_.state(), desk_.sources());
}

void DeskSource::take_up(std::string_view saved) {
    auto state = decode_desk(saved, desk_.sources());
    if (state) desk_.take_up(std::move(*state), not_before_);
}

} // namespace firstmow::weather_source
