#include "app/app.hpp"

#include "access/book.hpp"
#include "app/backend.hpp"
#include "app/control.hpp"
#include "app/morning.hpp"
#include "app/notify.hpp"
#include "app/token.hpp"
#include "garden/reach.hpp"
#include "host/clocks.hpp"
#include "host/files.hpp"
#include "http/server.hpp"
#include "messenger/messenger.hpp"
#include "sensors/sensors.hpp"
#include "weather/csv_source.hpp"
#include "weather/desk_source.hpp"

#include <utility> // before asio: Boost 1.74 uses std::exchange without it

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <csignal>
#include <cstdio>

namespace firstmow::app {

namespace {

constexpr Seconds kLookAtWeatherEvery{30};
constexpr const char* kDatabase = "/firstmow.sqlite";
constexpr const char* kToken = "/token";
constexpr const char* kStationKey = "/station-key";
constexpr const char* kWeatherKept = "weather_desk"; // among the journal's odds and ends
constexpr const char* kAccess = "/access";
constexpr const char* kLetters = "/letters.json";
constexpr const char* kToldOf = "/told-of";

int refuse(const std::string& message) {
    std::fprintf(stderr, "firstmowd: %s\n", message.c_str());
    return 2;
}

// The journal, with what it left of the last run. A damaged file is moved aside, never deleted.
struct Journal {
    store::Store store;
    std::optional<journal::Restored> restored;
    std::optional<engine::Remark> remark;
    std::string weather; // what the source of weather kept
};
Result<Journal> open_journal(const std::string& path) {
    std::optional<engine::Remark> remark;
    store::Fault fault{};
    Result<store::Store> store = store::Store::open(path, {}, &fault);
    if (!store && fault == store::Fault::damaged) {
        const Result<std::string> aside = store::set_aside(path, host::wall_now());
        if (!aside) return aside.error();
        remark = engine::Remark{engine::Severity::alarm, "journal_damaged",
                                "The journal was damaged (" + store.error().message +
                                    "); it was moved to " + *aside + " and a new one begun."};
        store = store::Store::open(path);
    }
    if (!store) return store.error();
    Result<std::optional<journal::Restored>> restored = journal::restore(*store);
    if (!restored)
        return Error{path + ": " + restored.error().message +
                     "; use another --state-dir, or move this file away to begin anew"};
    if (*restored && (*restored)->followed && !remark)
        remark = engine::Remark{engine::Severity::note, "journal_followed",
                                "Another firstmow wrote the journal and would have watered "
                                "otherwise; the water in the ground was reckoned anew from the "
                                "weather and the runs as they were."};
    const Result<std::optional<std::string>> weather = store->meta(kWeatherKept);
    return Journal{std::move(*store), std::move(*restored), std::move(remark),
                   weather && *weather ? **weather : std::string()};
}

class App {
public:
    App(const Options& options, host::GardenFile garden, Journal journal, const std::string& token,
        const std::string& station_key)
        : options_(options),
          weather_kept_(std::move(journal.weather)),
          worker_(std::move(journal.store), worker_options()),
          control_(io_, std::move(garden), std::move(journal.restored), worker_),
          backend_(io_, control_, worker_),
          http_(io_, backend_, access_settings(token, station_key)),
          messenger_(options_.state_dir + kLetters, reach().addresses,
                     [](const std::string& sentence) { spdlog::warn("{}", sentence); }),
          morning_(options_.state_dir + kToldOf,
                   [this](const std::string& text) { note_told(text); }),
          signals_(io_, SIGTERM, SIGINT, SIGHUP),
          weather_timer_(io_) {
        if (journal.remark) control_.push(*journal.remark);
        backend_.on_reload([this] { return reload(); });
        control_.on_view([this] {
            http_.publish();
            if (sensors_) sensors_->water_runs(control_.water_runs());
        });
        control_.on_record([this](const engine::Record& record) {
            if (auto letter = messenger::letter_about(record, site_name()))
                messenger_.give(std::move(*letter));
        });
    }

    Status start() {
        // Every valve is closed before anything else is done with the world.
        if (const Status taken = control_.take_valves(); !taken) return taken;
        const Result<std::uint16_t> port = http_.listen(options_.address, options_.port);
        if (!port) return port.error();
        listen_to_signals();
        begin_weather();
        begin_sensors();
        // The first step: what was open when the last run ended is written down as ended.
        control_.push(engine::Remark{engine::Severity::note, "started", "firstmow started."});
        spdlog::info("serving http://{}:{}/ (the key is in {}{})", options_.address, *port,
                     options_.state_dir, kToken);
        offer_pairing();
        notify_service_manager("READY=1");
        return Done{};
    }

    void run() { io_.run(); }

    Status finish() { return worker_.stop(); }

    void abandon() {
        control_.abandon();
        (void)worker_.stop();
    }

private:
    store::WorkerOptions worker_options() {
        store::WorkerOptions o;
        o.on_trouble = [](const Error& error) { spdlog::error("journal: {}", error.message); };
        o.on_recovered = [] { spdlog::info("journal: writing works again"); };
        return o;
    }

    garden::Reach reach() const { return garden::read_reach(control_.garden_file().text); }
    const std::string& site_name() const { return control_.setup().garden.site.name; }

    http::AccessSettings access_settings(const std::string& token,
                                         const std::string& station_key) const {
        garden::Reach reach = this->reach();
        return {http::sha256_hex(token),
                station_key.empty() ? "" : http::sha256_hex(station_key),
                std::move(reach.host_names),
                options_.state_dir + kAccess,
                reach.reads_closed,
                [](const std::string& sentence) { spdlog::info("{}", sentence); }};
    }

    // Whoever sees the log of a new daemon can sign a phone in; once one has, codes are made by
    // the companion only.
    void offer_pairing() const {
        access::Book book(options_.state_dir + kAccess);
        if (book.ever_signed_in()) return;
        const Result<std::string> code = book.make_code(host::mono_now());
        if (code)
            spdlog::info("no browser has signed in yet; the page takes the code {} once within "
                         "{} min (firstmow pair makes another)",
                         *code, access::Book::kCodeLife.count());
        else
            spdlog::warn("no pairing code could be made: {}", code.error().message);
    }

    void listen_to_signals() {
        signals_.async_wait([this](const boost::system::error_code& fault, int signal) {
            if (fault) return;
            if (signal == SIGHUP) {
                (void)reload(); // said in the log and among the notices
                listen_to_signals();
                return;
            }
            stop();
        });
    }

    void begin_sensors() {
        sensors_.reset();
        sensors_ = std::make_unique<sensors::Sensors>(
            io_, control_.setup().garden, options_.garden,
            [this](engine::Input input) { control_.push(std::move(input)); });
    }

    void begin_weather() {
        const garden::Garden& garden = control_.setup().garden;
        const auto from = control_.wants_weather_from();
        if (weather_) weather_kept_ = weather_->save();
        backend_.use_weather(nullptr);
        weather_.reset();
        if (garden.weather.csv_file && garden.weather.feeds.empty())
            weather_ = std::make_unique<weather_source::CsvSource>(
                host::beside(options_.garden, *garden.weather.csv_file), garden.site.place, from);
        else
            weather_ = std::make_unique<weather_source::DeskSource>(garden, options_.garden, from);
        weather_->take_up(weather_kept_);
        backend_.use_weather(weather_.get());
        look_at_weather();
    }

    void look_at_weather() {
        if (weather_) {
            weather_source::News news = weather_->look(host::wall_now());
            for (engine::Remark& remark : news.remarks)
                control_.push(std::move(remark));
            for (weather::Hour& hour : news.passed)
                control_.push(engine::HourObserved{hour});
            if (!news.ahead.empty()) control_.push(engine::ForecastArrived{std::move(news.ahead)});
            if (!news.passed.empty()) keep_weather();
        }
        tell_of_yesterday();
        weather_timer_.expires_after(kLookAtWeatherEvery);
        weather_timer_.async_wait([this](const boost::system::error_code& fault) {
            if (!fault) look_at_weather();
        });
    }

    // What the source would like to have again after a restart; once an hour is enough.
    void keep_weather() {
        const std::string kept = weather_ ? weather_->save() : std::string();
        if (kept.empty()) return;
        (void)worker_.query(
            [kept](store::Store& store) { (void)store.put_meta(kWeatherKept, kept); });
    }

    // The review of the day before goes out in the morning.
    void tell_of_yesterday() {
        const auto date = morning_.due(host::wall_now(), control_.setup().timezone);
        if (!date || telling_) return;
        telling_ = true;
        backend_.day(*date, [this, date = *date](Result<http::Day> day) {
            telling_ = false;
            if (!day) return; // asked again in a moment
            morning_.done(date);
            if (!day->records.moisture.empty())
                messenger_.give(
                    messenger::letter_about(day->review, date, host::wall_now(), site_name()));
        });
    }

    void note_told(const std::string& text) {
        (void)worker_.query([file = options_.state_dir + kToldOf, text](store::Store&) {
            if (const Status written = host::write_file(file, text, 0600); !written)
                spdlog::warn("{}", written.error().message);
        });
    }

    // Takes the garden file anew, whole or not at all.
    Status reload() {
        auto loaded = host::load_garden(options_.garden);
        if (const auto* errors = std::get_if<std::vector<std::string>>(&loaded)) {
            for (const std::string& error : *errors)
                spdlog::error("{}", error);
            control_.push(engine::Remark{engine::Severity::warning, "garden_refused",
                                         "The changed garden file has errors (" + errors->front() +
                                             "); the garden goes on as before."});
            return Error{errors->front()};
        }
        const Status changed =
            control_.change_garden(std::get<host::GardenFile>(std::move(loaded)));
        if (!changed) {
            spdlog::error("the garden file could not be brought into force: {}; stopping",
                          changed.error().message);
            stop();
            return changed;
        }
        garden::Reach reach = this->reach();
        http_.set_access(std::move(reach.host_names), reach.reads_closed);
        messenger_.set_addresses(std::move(reach.addresses));
        control_.push(engine::Remark{engine::Severity::note, "garden_reloaded",
                                     "The garden file was read again."});
        begin_weather();
        begin_sensors();
        return Done{};
    }

    void stop() {
        notify_service_manager("STOPPING=1");
        control_.stop(); // valves first
        keep_weather();
        http_.close();
        signals_.cancel();
        weather_timer_.cancel();
        io_.stop();
        spdlog::info("stopped: every valve is closed");
    }

    const Options& options_;
    std::string weather_kept_;
    boost::asio::io_context io_{1};
    store::StoreWorker worker_;
    Control control_;
    Backend backend_;
    http::HttpServer http_;
    messenger::Messenger messenger_;
    Morning morning_;
    bool telling_ = false; // the day before is being asked for
    boost::asio::signal_set signals_;
    boost::asio::steady_timer weather_timer_;
    std::unique_ptr<weather_source::Source> weather_;
    std::unique_ptr<sensors::Sensors> sensors_;
};

} // namespace

int run(const Options& options, host::GardenFile garden) {
    std::signal(SIGPIPE, SIG_IGN);
    if (const Status made = host::make_directory(options.state_dir); !made)
        return refuse("--state-dir: " + made.error().message);
    const Result<std::string> token = load_or_make_token(options.state_dir + kToken);
    if (!token) return refuse(token.error().message);
    // Only where a station is to be heard: a key that nobody needs is one too many.
    std::string station_key;
    const auto& feeds = garden.setup.garden.weather.feeds;
    if (std::any_of(feeds.begin(), feeds.end(), [](const garden::WeatherFeed& feed) {
            return feed.kind == garden::WeatherFeed::Kind::push;
        })) {
        const Result<std::string> made = load_or_make_token(options.state_dir + kStationKey);
        if (!made) return refuse(made.error().message);
        station_key = *made;
    }
    Result<Journal> journal = open_journal(options.state_dir + kDatabase);
    if (!journal) return refuse(journal.error().message);

    App app(options, std::move(garden), std::move(*journal), *token, station_key);
    if (const Status started = app.start(); !started) {
        app.abandon();
        return refuse(started.error().message);
    }
    try {
        app.run();
    } catch (const valves::KeeperLost& lost) {
        // The valves were closed by hand as well as that went. Whoever watches over us closes them
        // again (firstmow off) and starts us anew.
        spdlog::critical("{}; the daemon ends", lost.what());
        app.abandon();
        return 1;
    }
    if (const Status written = app.finish(); !written) {
        spdlog::error("journal: {}", written.error().message);
        return 1;
    }
    return 0;
}

} // namespace firstmow::app
