#include "weather/service.hpp"

#include "base/check.hpp"
#include "base/text.hpp"

#include <charconv>
#include <cmath>

namespace firstmow::weather_source {

namespace {

using Kind = garden::WeatherFeed::Kind;
using Read = Result<std::optional<weather::Parcel>>;

Read numbered(Result<weather::Parcel> parcel, std::uint8_t number) {
    if (!parcel) return parcel.error();
    parcel->source = number;
    return std::optional<weather::Parcel>(std::move(*parcel));
}

class OpenMeteo : public Service {
public:
    OpenMeteo(const weather::Place& place, std::uint8_t number) : number_(number) {
        path_ = "/v1/forecast?latitude=" + coordinate(place.latitude_deg) +
                "&longitude=" + coordinate(place.longitude_deg) +
                "&elevation=" + fixed(place.elevation_m, 0) +
                "&hourly=temperature_2m,relative_humidity_2m,dew_point_2m,precipitation,"
                "precipitation_probability,shortwave_radiation,wind_speed_10m,cloud_cover,"
                "soil_temperature_6cm"
                "&wind_speed_unit=ms&timeformat=unixtime&timezone=GMT&past_days=3&forecast_days=4";
    }
    std::string path() const override { return path_; }
    Read read(std::string_view body, WallTime now) override {
        return numbered(read_open_meteo(body, now), number_);
    }

private:
    std::uint8_t number_;
    std::string path_;
};

class MetNorway : public Service {
public:
    MetNorway(const weather::Place& place, std::uint8_t number) : number_(number) {
        path_ = "/weatherapi/locationforecast/2.0/complete?lat=" + coordinate(place.latitude_deg) +
                "&lon=" + coordinate(place.longitude_deg) +
                "&altitude=" + fixed(std::round(place.elevation_m), 0);
    }
    std::string path() const override { return path_; }
    Read read(std::string_view body, WallTime now) override {
        return numbered(read_met_norway(body, now), number_);
    }

private:
    std::uint8_t number_;
    std::string path_;
};

class Nws : public Service {
public:
    Nws(const weather::Place& place, std::uint8_t number)
        : point_("/points/" + coordinate(place.latitude_deg) + "," +
                 coordinate(place.longitude_deg)),
          number_(number) {}
    std::string path() const override { return grid_.empty() ? point_ : grid_; }
    Read read(std::string_view body, WallTime now) override {
        if (!grid_.empty()) return numbered(read_nws_grid(body, now), number_);
        Result<std::string> grid = read_nws_point(body);
        if (!grid) return grid.error();
        grid_ = std::move(*grid);
        return std::optional<weather::Parcel>{};
    }
    void begin_anew() override { grid_.clear(); }

private:
    std::string point_;
    std::string grid_;
    std::uint8_t number_;
};

} // namespace

std::unique_ptr<Service> make_service(const garden::WeatherFeed& feed, const weather::Place& place,
                                      std::uint8_t number) {
    switch (feed.kind) {
    case Kind::open_meteo:
        return std::make_unique<OpenMeteo>(place, number);
    case Kind::met_norway:
        return std::make_unique<MetNorway>(place, number);
    case Kind::nws:
        return std::make_unique<Nws>(place, number);
    case Kind::push:
    case Kind::mqtt:
        break;
    }
    CHECK(!"a station is no service");
    return nullptr;
}

std::string base_url(const garden::WeatherFeed& feed) {
    std::string url = feed.url;
    if (url.empty()) {
        if (feed.kind == Kind::open_meteo) url = "https://api.open-meteo.com";
        if (feed.kind == Kind::met_norway) url = "https://api.met.no";
        if (feed.kind == Kind::nws) url = "https://api.weather.gov";
    }
    while (url.ends_with('/'))
        url.pop_back();
    return url;
}

std::string user_agent(const garden::WeatherFeed& feed) {
    constexpr const char* kName = "firstmow/0.1";
    return feed.contact.empty() ? kName : std::string(kName) + " (" + feed.contact + ")";
}

std::optional<WallTime> parse_time_with_offset(std::string_view text) {
    if (text.ends_with('Z') || text.size() < 6) {
        const Result<WallTime> time = parse_iso8601(text);
        return time ? std::optional(*time) : std::nullopt;
    }
    const std::string_view offset = text.substr(text.size() - 6);
    if ((offset[0] != '+' && offset[0] != '-') || offset[3] != ':') return std::nullopt;
    for (const std::size_t i : {1U, 2U, 4U, 5U})
        if (offset[i] < '0' || offset[i] > '9') return std::nullopt;
    const Result<WallTime> local =
        parse_iso8601(std::string(text.substr(0, text.size() - 6)) + "Z");
    if (!local) return std::nullopt;
    const int minutes =
        ((offset[1] - '0') * 10 + offset[2] - '0') * 60 + (offset[4] - '0') * 10 + offset[5] - '0';
    return *local - std::chrono::minutes{offset[0] == '+' ? minutes : -minutes};
}

std::optional<int> parse_hours(std::string_view text) {
    if (!text.starts_with('P')) return std::nullopt;
    text.remove_prefix(1);
    int hours = 0;
    bool of_time = false;
    while (!text.empty()) {
        if (!of_time && text.front() == 'T') {
            of_time = true;
            text.remove_prefix(1);
            continue;
        }
        int value = 0;
        const auto [end, fault] = std::from_chars(
            text.data(), text.data() + std::min<std::size_t>(text.size(), 4), value);
        if (fault != std::errc{} || end == text.data() + text.size() || value < 0)
            return std::nullopt;
        if (!of_time && *end == 'D')
            hours += 24 * value;
        else if (of_time && *end == 'H')
            hours += value;
        else
            return std::nullopt;
        text.remove_prefix(static_cast<std::size_t>(end - text.data()) + 1);
    }
    return hours >= 1 && hours <= 384 ? std::optional(hours) : std::nullopt;
}

std::string coordinate(double degrees) {
    // Trailing zeros make one of them send us on to the address without.
    std::string text = fixed(degrees, 4);
    while (text.ends_with('0'))
        text.pop_back();
    if (text.ends_with('.')) text.pop_back();
    return text;
}

} // namespace firstmow::weather_source
