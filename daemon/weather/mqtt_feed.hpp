// A station whose readings a broker hands on: a topic for each value, or members of a JSON payload.
//
// A thread of its own keeps the connection and comes back by itself when it is lost. What was
// retained by the broker may be days old and is passed over.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"
#include "weather/feed.hpp"
#include "weather/gather.hpp"

#include <memory>
#include <string_view>

namespace firstmow::weather_source {

struct BrokerAddress {
    bool secure = false;
    std::string host;
    int port = 1883;
};
// "mqtt://HOST[:PORT]" or "mqtts://HOST[:PORT]".
Result<BrokerAddress> parse_broker(std::string_view url);

// The number that a payload tells: a plain number, or with `path` ("outdoor.temp") a member of a
// JSON object, as a number or as text. Nothing for anything else.
std::optional<double> read_payload(std::string_view payload, std::string_view path);

class MqttFeed : public Feed {
public:
    struct Setup {
        garden::WeatherFeed feed;
        std::string ca_file;         // with its folder; empty: the system's
        std::string password;        // empty: none
        WallTime (*now)() = nullptr; // when a message came; null: the system's clock
    };
    // An Error when the address is wrong or the library refuses.
    static Result<std::unique_ptr<MqttFeed>> start(Setup setup, std::uint8_t number);
    ~MqttFeed() override;
    std::vector<weather::Parcel> collect(WallTime now) override;
    FeedStatus status(WallTime now) const override;

private:
    struct Connection;
    MqttFeed(std::unique_ptr<Connection> connection, std::uint8_t number);

    std::unique_ptr<Connection> connection_;
    std::uint8_t number_;
    weather::Gather gather_;
};

} // namespace firstmow::weather_source
