// The public weather services: what to ask them and what their answers mean. No sockets in here;
// service_feed.hpp asks.
//
// Each reads a text of any content: an answer of another shape is an Error of one sentence, values
// that are null or lack are absent, and no more than weather::kMostReadings hours are made of it.
// Instants are made means of an hour from both of its ends; wind at 10 m is brought to 2 m.
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"
#include "weather/parcel.hpp"

#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace firstmow::weather_source {

class Service {
public:
    virtual ~Service() = default;
    // The path, with query, below the service's base.
    virtual std::string path() const = 0;
    // Reads the answer to path(). Nothing: path() has become another and must be asked first.
    virtual Result<std::optional<weather::Parcel>> read(std::string_view body, WallTime now) = 0;
    // The server no longer knows the path (404, 410): begin from the first question.
    virtual void begin_anew() {}
};

// Of a feed of kind open_meteo, met_norway or nws; `number` is its number in the garden's list.
std::unique_ptr<Service> make_service(const garden::WeatherFeed& feed, const weather::Place& place,
                                      std::uint8_t number);
// Where the service is when the garden file does not say otherwise.
std::string base_url(const garden::WeatherFeed& feed);
// "firstmow/VERSION (CONTACT)": how we tell a service who asks.
std::string user_agent(const garden::WeatherFeed& feed);

// --- The readers by themselves (for tests and fuzzing) -------------------------------------------
Result<weather::Parcel> read_open_meteo(std::string_view body, WallTime now);
Result<weather::Parcel> read_met_norway(std::string_view body, WallTime now);
// The path of the gridpoint's forecast.
Result<std::string> read_nws_point(std::string_view body);
Result<weather::Parcel> read_nws_grid(std::string_view body, WallTime now);

// "2019-07-04T18:00:00+00:00", "...Z".
std::optional<WallTime> parse_time_with_offset(std::string_view text);
// "PT3H", "P1DT6H": whole hours, 1 to 384.
std::optional<int> parse_hours(std::string_view text);
// No more than four decimals: finer ones are refused by two of the three.
std::string coordinate(double degrees);

} // namespace firstmow::weather_source
