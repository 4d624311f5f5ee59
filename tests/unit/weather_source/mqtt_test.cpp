#include "local_server.hpp"
#include "weather/mqtt_feed.hpp"

#include <mosquitto.h>

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

std::atomic<WallTime> g_now{WallTime{Seconds{1'787'000'000}}};
WallTime test_now() {
    return g_now;
}

template <class Test>
bool soon(Test test) {
    for (int i = 0; i < 2000; ++i) {
        if (test()) return true;
        std::this_thread::sleep_for(Millis{5});
    }
    return false;
}

std::string broker_program() {
    for (const char* path :
         {"/usr/sbin/mosquitto", "/usr/local/sbin/mosquitto", "/usr/bin/mosquitto"})
        if (std::filesystem::exists(path)) return path;
    return {};
}

// A real broker on a free port of the loopback, started for the test alone.
class Broker {
public:
    explicit Broker(int port) : port_(port) { start(); }
    ~Broker() {
        stop();
        std::remove(config_.c_str());
    }
    Broker(const Broker&) = delete;
    Broker& operator=(const Broker&) = delete;

    void start() {
        config_ = (std::filesystem::temp_directory_path() / "firstmow-broker-XXXXXX").string();
        const int fd = ::mkstemp(config_.data());
        if (fd >= 0) ::close(fd);
        std::ofstream(config_) << "listener " << port_ << " 127.0.0.1\nallow_anonymous true\n"
                               << "persistence false\nlog_dest none\n";
        const std::string program = broker_program();
        child_ = ::fork();
        if (child_ == 0) {
            ::execl(program.c_str(), program.c_str(), "-c", config_.c_str(), nullptr);
            ::_exit(127);
        }
    }
    void stop() {
        if (child_ <= 0) return;
        ::kill(child_, SIGKILL);
        ::waitpid(child_, nullptr, 0);
        child_ = -1;
    }
    int port() const { return port_; }

private:
    int port_;
    pid_t child_ = -1;
    std::string config_;
};

// A station that tells its broker.
class Station {
public:
    explicit Station(int port) : client_(mosquitto_new(nullptr, true, nullptr)) {
        connected_ = soon(
            [&] { return mosquitto_connect(client_, "127.0.0.1", port, 30) == MOSQ_ERR_SUCCESS; });
        mosquitto_loop_start(client_);
    }
    ~Station() {
        mosquitto_disconnect(client_);
        mosquitto_loop_stop(client_, true);
        mosquitto_destroy(client_);
    }
    Station(const Station&) = delete;
    Station& operator=(const Station&) = delete;
    void tell(const char* topic, const std::string& payload, bool retain = false) {
        mosquitto_publish(client_, nullptr, topic, static_cast<int>(payload.size()), payload.data(),
                          1, retain);
    }
    bool connected() const { return connected_; }

private:
    mosquitto* client_;
    bool connected_ = false;
};

garden::WeatherFeed feed_at(int port) {
    garden::WeatherFeed feed;
    feed.kind = garden::WeatherFeed::Kind::mqtt;
    feed.url = "mqtt://127.0.0.1:" + std::to_string(port);
    feed.topics.temperature = "yard/air#outdoor.temp";
    feed.topics.humidity = "yard/humidity";
    feed.topics.rain = "yard/rain";
    return feed;
}

} // namespace

TEST_CASE("mqtt: payloads are numbers, or members of JSON") {
    CHECK(read_payload("21.5", "") == 21.5);
    CHECK(read_payload(" 21.5\n", "") == 21.5);
    CHECK(read_payload(R"({"outdoor":{"temp":21.5}})", "outdoor.temp") == 21.5);
    CHECK(read_payload(R"({"temp":"21.5"})", "temp") == 21.5);
    for (const char* bad : {"", "warm", "nan", "21.5 C", "{\"temp\":1}"})
        CHECK_FALSE(read_payload(bad, "").has_value());
    for (const char* bad :
         {"", "21", "[]", "{\"temp\":null}", "{\"outdoor\":7}", "{\"temp\":1e999}"})
        CHECK_FALSE(read_payload(bad, "outdoor.temp").has_value());
    CHECK_FALSE(read_payload(std::string(10'000, '1'), "").has_value());
}

TEST_CASE("mqtt: addresses of brokers") {
    const auto plain = parse_broker("mqtt://192.168.1.5");
    REQUIRE(plain.ok());
    CHECK(plain->host == "192.168.1.5");
    CHECK(plain->port == 1883);
    CHECK_FALSE(plain->secure);
    CHECK(parse_broker("mqtts://broker.example.org")->port == 8883);
    CHECK(parse_broker("mqtts://broker.example.org")->secure);
    CHECK(parse_broker("mqtt://board.local:1884")->port == 1884);
    for (const char* bad : {"", "192.168.1.5", "http://a", "mqtt://", "mqtt://a:0", "mqtt://a:x"})
        CHECK_FALSE(parse_broker(bad).ok());
}

TEST_CASE("mqtt: readings come through a real broker, which may go and come back") {
    if (broker_program().empty()) {
        MESSAGE("skipped: no mosquitto broker here; apt-get install mosquitto would be right");
        return;
    }
    const int port = trial::free_port();
    // The daemon is there before its broker.
    auto started = MqttFeed::start({feed_at(port), {}, {}, test_now}, 2);
    REQUIRE(started.ok());
    MqttFeed& feed = **started;
    CHECK(feed.status(g_now.load()).state == FeedStatus::State::starting);
    Broker broker(port);
    Station station(port);
    REQUIRE(station.connected());
    station.tell("yard/humidity", "99", true); // retained: days old, for all we know
    // Told until heard: the feed connects when its own pause is over.
    const auto heard = [&] {
        return soon([&] {
            station.tell("yard/air", R"({"outdoor":{"temp":20.5}})");
            station.tell("yard/humidity", "61");
            station.tell("yard/rain", "3.2");
            std::this_thread::sleep_for(Millis{20});
            return feed.status(g_now.load()).state == FeedStatus::State::ok;
        });
    };
    REQUIRE_MESSAGE(heard(), feed.status(g_now.load()).detail);
    // An hour of looks, ten minutes apart on the test's own clock.
    const WallTime ten = parse_iso8601("2026-08-22T10:00:00Z").value();
    std::vector<weather::Parcel> parcels;
    for (int minute = 0; minute <= 70; minute += 10) {
        g_now = ten + std::chrono::minutes{minute};
        station.tell("yard/air", R"({"outdoor":{"temp":20.5}})");
        station.tell("yard/humidity", "61");
        station.tell("yard/rain", minute < 30 ? "3.2" : "4.6");
        // The word is here when its time is; the rest came before it or follows at once.
        REQUIRE(soon([&] { return feed.status(g_now).last_good == g_now.load(); }));
        std::this_thread::sleep_for(Millis{100});
        for (weather::Parcel& parcel : feed.collect(g_now))
            parcels.push_back(std::move(parcel));
    }
    REQUIRE(parcels.size() == 1);
    CHECK(parcels[0].source == 2);
    CHECK(parcels[0].kind == weather::ParcelKind::measured);
    REQUIRE(parcels[0].readings.size() == 1);
    const weather::Reading& hour = parcels[0].readings[0];
    CHECK(hour.start == ten);
    CHECK(*hour.air_temp_c == doctest::Approx(20.5));
    CHECK(*hour.rel_humidity_pct == doctest::Approx(61)); // not what was retained
    CHECK(*hour.rain_mm == doctest::Approx(1.4));
    // What is no number is told; the broker going away too; and all is well again by itself.
    station.tell("yard/humidity", "wet");
    CHECK(soon(
        [&] { return feed.status(g_now.load()).detail.find("no number") != std::string::npos; }));
    broker.stop();
    CHECK(soon([&] { return feed.status(g_now.load()).state == FeedStatus::State::failing; }));
    broker.start();
    CHECK(heard());
}

} // namespace firstmow::weather_source
