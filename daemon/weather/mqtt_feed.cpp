#include "weather/mqtt_feed.hpp"

#include "base/text.hpp"
#include "host/clocks.hpp"
#include "weather/json_in.hpp"
#include "weather/reference_et.hpp"
#include "weather/web.hpp"

#include <mosquitto.h>

#include <algorithm>
#include <cerrno>
#include <condition_variable>
#include <mutex>
#include <system_error>
#include <thread>

namespace firstmow::weather_source {

namespace {

constexpr int kKeepalive_s = 60;
constexpr int kLoop_ms = 500;
constexpr Seconds kLongestPause{60};
constexpr std::size_t kLongestPayload = 4096;
constexpr std::chrono::minutes kSpeaksFor{20}; // a value that is not told again by then is gone
constexpr std::chrono::minutes kSilent{30};

using weather::Sample;

// A topic and the member of its payload, and where it goes.
struct Line {
    std::string topic;
    std::string path;
    std::optional<double> Sample::*value;
    double factor = 1; // after `shift`
    double shift = 0;
};

struct Latest {
    std::optional<double> value;
    WallTime at;
};

std::vector<Line> lines_of(const garden::WeatherFeed& feed) {
    const bool us = feed.units == garden::Units::us;
    std::vector<Line> lines;
    const auto add = [&](const std::string& told, std::optional<double> Sample::*value,
                         double factor, double shift = 0) {
        if (told.empty()) return;
        const auto hash = std::min(told.find('#'), told.size());
        lines.push_back({told.substr(0, hash),
                         hash < told.size() ? told.substr(hash + 1) : std::string(), value,
                         us ? factor : 1, us ? shift : 0});
    };
    add(feed.topics.temperature, &Sample::air_temp_c, 1 / 1.8, -32);
    add(feed.topics.dew_point, &Sample::dew_point_c, 1 / 1.8, -32);
    add(feed.topics.humidity, &Sample::rel_humidity_pct, 1);
    add(feed.topics.wind, &Sample::wind_2m_m_s, 0.44704);
    add(feed.topics.solar, &Sample::solar_w_m2, 1);
    add(feed.topics.soil_temperature, &Sample::soil_temp_c, 1 / 1.8, -32);
    add(feed.topics.rain, &Sample::rain_counter_mm, 25.4);
    return lines;
}

} // namespace

Result<BrokerAddress> parse_broker(std::string_view url) {
    const bool secure = url.starts_with("mqtts://");
    if (!secure && !url.starts_with("mqtt://"))
        return Error{"'" + std::string(url) +
                     "' is no broker's address; mqtt://HOST or mqtts://HOST would be right"};
    // The same shape as a web address.
    const Result<Url> same =
        parse_url((secure ? "https" : "http") + std::string(url.substr(secure ? 5 : 4)));
    if (!same)
        return Error{"'" + std::string(url) +
                     "' is no broker's address; mqtt://HOST:PORT would be right"};
    BrokerAddress address{secure, same->host, secure ? 8883 : 1883};
    if (same->authority() != same->host && same->port != (secure ? "443" : "80"))
        address.port = static_cast<int>(*parse_number(same->port));
    return address;
}

std::optional<double> read_payload(std::string_view payload, std::string_view path) {
    if (payload.size() > kLongestPayload) return std::nullopt;
    while (!payload.empty() && (payload.back() == ' ' || payload.back() == '\n' ||
                                payload.back() == '\r' || payload.back() == '\0'))
        payload.remove_suffix(1);
    while (payload.starts_with(' '))
        payload.remove_prefix(1);
    if (path.empty()) return parse_number(payload);
    const Json told = parse_bounded(payload);
    const Json* at = &told;
    while (!path.empty()) {
        const auto dot = std::min(path.find('.'), path.size());
        at = &member(*at, std::string(path.substr(0, dot)).c_str());
        path.remove_prefix(std::min(dot + 1, path.size()));
    }
    if (const auto value = number(*at)) return value;
    return parse_number(text(*at));
}

struct MqttFeed::Connection {
    explicit Connection(Setup given) : setup(std::move(given)), lines(lines_of(setup.feed)) {
        latest.resize(lines.size());
    }
    ~Connection() {
        {
            const std::lock_guard lock(mutex);
            stopping = true;
        }
        wake.notify_all();
        if (thread.joinable()) thread.join();
        if (client != nullptr) mosquitto_destroy(client);
    }
    Connection(const Connection&) = delete;
    Connection& operator=(const Connection&) = delete;

    Status open() {
        static const int initialised = mosquitto_lib_init();
        if (initialised != MOSQ_ERR_SUCCESS) return Error{"the MQTT library does not start"};
        const Result<BrokerAddress> address = parse_broker(setup.feed.url);
        if (!address) return address.error();
        client = mosquitto_new(nullptr, true, this);
        if (client == nullptr) return Error{"there is no memory for an MQTT client"};
        mosquitto_connect_callback_set(client, on_connect);
        mosquitto_disconnect_callback_set(client, on_disconnect);
        mosquitto_message_callback_set(client, on_message);
        int code = MOSQ_ERR_SUCCESS;
        if (!setup.feed.user.empty())
            code = mosquitto_username_pw_set(client, setup.feed.user.c_str(),
                                             setup.password.empty() ? nullptr
                                                                    : setup.password.c_str());
        if (code == MOSQ_ERR_SUCCESS && address->secure)
            code = setup.ca_file.empty() ? mosquitto_tls_set(client, nullptr, "/etc/ssl/certs",
                                                             nullptr, nullptr, nullptr)
                                         : mosquitto_tls_set(client, setup.ca_file.c_str(), nullptr,
                                                             nullptr, nullptr, nullptr);
        if (code != MOSQ_ERR_SUCCESS)
            return Error{std::string("the MQTT library refuses: ") + mosquitto_strerror(code)};
        host = address->host;
        port = address->port;
        thread = std::thread([this] { run(); });
        return Done{};
    }

    // --- On the thread.
    void run() {
        Seconds pause{1};
        for (;;) {
            // Begins to connect; the loop carries it on, and the library's callbacks come from it.
            int code = mosquitto_connect_async(client, host.c_str(), port, kKeepalive_s);
            while (code == MOSQ_ERR_SUCCESS) {
                code = mosquitto_loop(client, kLoop_ms, 1);
                const std::lock_guard lock(mutex);
                if (connected) pause = Seconds{1};
                if (stopping) break;
            }
            std::unique_lock lock(mutex);
            connected = false;
            if (trouble.empty())
                trouble = "the broker " + host + " is not there (" +
                          (code == MOSQ_ERR_ERRNO
                               ? std::error_code(errno, std::generic_category()).message()
                               : mosquitto_strerror(code)) +
                          ")";
            if (wake.wait_for(lock, pause, [this] { return stopping; })) break;
            pause = std::min(2 * pause, kLongestPause);
        }
        mosquitto_disconnect(client);
    }
    static void on_connect(mosquitto* client, void* self, int code) {
        auto& c = *static_cast<Connection*>(self);
        if (code == 0)
            for (const Line& line : c.lines)
                mosquitto_subscribe(client, nullptr, line.topic.c_str(), 0);
        const std::lock_guard lock(c.mutex);
        c.connected = code == 0;
        c.trouble = code == 0 ? ""
                              : "the broker " + c.host + " refuses us (" +
                                    mosquitto_connack_string(code) + ")";
    }
    static void on_disconnect(mosquitto* /*client*/, void* self, int code) {
        auto& c = *static_cast<Connection*>(self);
        const std::lock_guard lock(c.mutex);
        c.connected = false;
        if (code != 0 && c.trouble.empty())
            c.trouble = "the connection to the broker " + c.host + " was lost";
    }
    static void on_message(mosquitto* /*client*/, void* self, const mosquitto_message* message) {
        if (message->retain || message->payload == nullptr || message->payloadlen <= 0) return;
        static_cast<Connection*>(self)->hear(message->topic,
                                             {static_cast<const char*>(message->payload),
                                              static_cast<std::size_t>(message->payloadlen)});
    }
    void hear(std::string_view topic, std::string_view payload) {
        const WallTime now = setup.now != nullptr ? setup.now() : host::wall_now();
        const std::lock_guard lock(mutex);
        for (std::size_t i = 0; i < lines.size(); ++i) {
            if (lines[i].topic != topic) continue;
            const auto value = read_payload(payload, lines[i].path);
            if (!value) {
                doubt = "what " + std::string(topic.substr(0, 80)) + " tells is no number";
                continue;
            }
            latest[i] = {(*value + lines[i].shift) * lines[i].factor, now};
            last_heard = now;
            fresh = true;
            doubt.clear();
        }
    }

    const Setup setup;
    const std::vector<Line> lines;
    std::string host;
    mosquitto* client = nullptr;
    int port = 0;
    std::thread thread;
    std::mutex mutex;
    std::condition_variable wake;
    bool stopping = false;
    std::vector<Latest> latest; // beside lines
    std::optional<WallTime> last_heard;
    std::string trouble; // of the connection
    std::string doubt;   // of a payload
    bool connected = false;
    bool fresh = false; // something came since the last look
};

Result<std::unique_ptr<MqttFeed>> MqttFeed::start(Setup setup, std::uint8_t number) {
    auto connection = std::make_unique<Connection>(std::move(setup));
    if (const Status opened = connection->open(); !opened) return opened.error();
    return std::unique_ptr<MqttFeed>(new MqttFeed(std::move(connection), number));
}

MqttFeed::MqttFeed(std::unique_ptr<Connection> connection, std::uint8_t number)
    : connection_(std::move(connection)), number_(number) {}
MqttFeed::~MqttFeed() = default;

std::vector<weather::Parcel> MqttFeed::collect(WallTime now) {
    {
        Connection& c = *connection_;
        const std::lock_guard lock(c.mutex);
        if (c.fresh) {
            // Topics come one by one; what each told last is the reading of now.
            Sample sample;
            sample.time = now;
            for (std::size_t i = 0; i < c.lines.size(); ++i)
                if (c.latest[i].value && now - c.latest[i].at <= kSpeaksFor)
                    sample.*c.lines[i].value = c.latest[i].value;
            if (sample.wind_2m_m_s && c.setup.feed.wind_height_m != 2)
                sample.wind_2m_m_s =
                    weather::wind_at_2m_m_s(*sample.wind_2m_m_s, c.setup.feed.wind_height_m);
            gather_.take(sample);
            c.fresh = false;
        }
    }
    weather::Parcel parcel;
    parcel.source = number_;
    parcel.kind = weather::ParcelKind::measured;
    parcel.retrieved = now;
    parcel.readings = gather_.finished(now);
    if (parcel.readings.empty()) return {};
    return {parcel};
}

FeedStatus MqttFeed::status(WallTime now) const {
    Connection& c = *connection_;
    const std::lock_guard lock(c.mutex);
    FeedStatus status;
    status.last_good = c.last_heard;
    status.detail = !c.trouble.empty() ? c.trouble : c.doubt;
    if (c.connected && c.last_heard && now - *c.last_heard <= kSilent && status.detail.empty()) {
        status.state = FeedStatus::State::ok;
    } else if (!status.detail.empty() || c.last_heard) {
        status.state = FeedStatus::State::failing;
        if (status.detail.empty()) status.detail = "its topics are silent";
    } else {
        status.detail = c.connected ? "its topics have not told anything yet"
                                    : "the broker " + c.host + " has not answered yet";
    }
    return status;
}

} // namespace firstmow::weather_source
