#include "weather/service.hpp"

#include <algorithm>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using weather::Parcel;
using weather::Reading;

const WallTime kNow = parse_iso8601("2026-08-22T13:04:30Z").value();

template <class T>
T ok(Result<T> result) {
    REQUIRE_MESSAGE(result.ok(), (result ? "" : result.error().message));
    return *result;
}

const Reading& at(const Parcel& parcel, const char* time) {
    const WallTime start = parse_iso8601(time).value();
    for (const Reading& r : parcel.readings)
        if (r.start == start) return r;
    FAIL("no hour ", time);
    return parcel.readings.front();
}

// All values are invented; the layouts are the services' own.
std::string open_meteo(const std::string& times, const std::string& temps,
                       const std::string& more = "", const std::string& units = "") {
    return R"({"latitude":42.0,"longitude":-93.0,"generationtime_ms":0.3,"utc_offset_seconds":0,)"
           R"("timezone":"GMT","hourly_units":{"time":"unixtime","temperature_2m":"°C")" +
           units + R"(},"hourly":{"time":[)" + times + R"(],"temperature_2m":[)" + temps + "]" +
           more + "}}";
}

} // namespace

TEST_CASE("Open-Meteo: instants become means, sums belong to the hour before") {
    // 12:00, 13:00, 14:00
    const Parcel parcel = ok(read_open_meteo(
        open_meteo("1787400000,1787403600,1787407200", "20,22,26",
                   R"(,"relative_humidity_2m":[60,50,40],"dew_point_2m":[12,11,null],)"
                   R"("precipitation":[0.1,0.2,0.3],"precipitation_probability":[10,20,30],)"
                   R"("shortwave_radiation":[500,600,700],"wind_speed_10m":[2,4,null],)"
                   R"("cloud_cover":[0,50,100],"soil_temperature_6cm":[18,19,null])",
                   R"(,"wind_speed_10m":"m/s")"),
        kNow));
    CHECK(parcel.kind == weather::ParcelKind::forecast);
    CHECK(parcel.retrieved == kNow);
    const Reading& noon = at(parcel, "2026-08-22T12:00:00Z");
    CHECK(*noon.air_temp_c == 21);
    CHECK(*noon.rel_humidity_pct == 55);
    CHECK(*noon.dew_point_c == 11.5);
    CHECK(*noon.rain_mm == 0.2);
    CHECK(*noon.rain_probability == doctest::Approx(0.2));
    CHECK(*noon.solar_w_m2 == 600);
    CHECK(*noon.cloud_fraction == 0.25);
    CHECK(*noon.soil_temp_c == 18.5);
    CHECK(*noon.wind_2m_m_s == doctest::Approx(3 * 0.748).epsilon(1e-3)); // FAO-56 Eq. 47
    const Reading& one = at(parcel, "2026-08-22T13:00:00Z");
    CHECK(*one.air_temp_c == 24);
    CHECK(*one.dew_point_c == 11); // the end lacks
    CHECK(*one.rain_mm == 0.3);
    // The hour before the first has only what ended with it.
    CHECK(*at(parcel, "2026-08-22T11:00:00Z").rain_mm == 0.1);
    CHECK_FALSE(at(parcel, "2026-08-22T11:00:00Z").air_temp_c.has_value());
}

TEST_CASE("Open-Meteo: other units are understood, unknown ones are not guessed") {
    const auto read = [](const char* unit) {
        return ok(read_open_meteo(open_meteo("1787400000", "20", R"(,"wind_speed_10m":[36])",
                                             std::string(R"(,"wind_speed_10m":")") + unit + "\""),
                                  kNow))
            .readings.back()
            .wind_2m_m_s;
    };
    CHECK(*read("km/h") == doctest::Approx(10 * 0.748).epsilon(1e-3));
    CHECK_FALSE(read("furlongs").has_value());
    std::string fahrenheit = open_meteo("1787400000", "68");
    fahrenheit.replace(fahrenheit.find("°C"), std::string("°C").size(), "°F");
    CHECK(*ok(read_open_meteo(fahrenheit, kNow)).readings.back().air_temp_c == doctest::Approx(20));
}

TEST_CASE("Open-Meteo: days of 23 and 25 hours are like any other in UTC") {
    // 24 and 25 October and 28 and 29 March in central Europe: 49 and 47 local hours.
    for (const std::int64_t first : {1792792800, 1774652400}) {
        std::string times;
        std::string temps;
        for (int i = 0; i < 49; ++i) {
            times += (i ? "," : "") + std::to_string(first + 3600 * i);
            temps += (i ? "," : "") + std::to_string(i);
        }
        const Parcel parcel = ok(read_open_meteo(open_meteo(times, temps), kNow));
        REQUIRE(parcel.readings.size() == 50);
        for (int i = 0; i < 48; ++i)
            CHECK(*parcel.readings[static_cast<std::size_t>(i + 1)].air_temp_c == i + 0.5);
    }
}

TEST_CASE("Open-Meteo: what is no forecast is refused with a reason") {
    for (const std::string& bad :
         {std::string(), std::string("<html>"), std::string("[]"), std::string("{\"hourly\":{}}"),
          std::string(R"({"hourly":{"time":["2026-08-22T12:00"],"temperature_2m":[20]}})"),
          open_meteo("1787400001", "20"), open_meteo("-5,1e400", "20,20"),
          open_meteo("1787400000", "null"), open_meteo("1787400000", "\"warm\""),
          std::string(2'000'000, '['), std::string("{\"hourly\":") + std::string(500'000, '[')}) {
        const auto read = read_open_meteo(bad, kNow);
        CHECK_FALSE(read.ok());
        if (!read) CHECK_FALSE(read.error().message.empty());
    }
    const auto said = read_open_meteo(R"({"error":true,"reason":"Latitude out of range"})", kNow);
    REQUIRE_FALSE(said.ok());
    CHECK(said.error().message.find("Latitude out of range") != std::string::npos);
    // Arrays of unlike length: what is there is used.
    const Parcel parcel = ok(read_open_meteo(open_meteo("1787400000,1787403600", "20"), kNow));
    CHECK(*at(parcel, "2026-08-22T12:00:00Z").air_temp_c == 20);
}

TEST_CASE("MET Norway: hourly steps, then steps of six hours") {
    const auto step = [](const char* time, double temp, const char* next) {
        return std::string(R"({"time":")") + time +
               R"(","data":{"instant":{"details":{"air_temperature":)" + std::to_string(temp) +
               R"(,"relative_humidity":60.0,"dew_point_temperature":10.0,"wind_speed":4.0,)"
               R"("cloud_area_fraction":40.0}})" +
               next + "}}";
    };
    const std::string body =
        R"({"type":"Feature","properties":{"meta":{"units":{"air_temperature":"celsius"}},)"
        R"("timeseries":[)" +
        step("2026-08-22T13:00:00Z", 20,
             R"(,"next_1_hours":{"summary":{},"details":{"precipitation_amount":0.4,)"
             R"("probability_of_precipitation":70.0}},"next_6_hours":{"details":{)"
             R"("precipitation_amount":3.0}})") +
        "," +
        step("2026-08-22T14:00:00Z", 22,
             R"(,"next_6_hours":{"details":{"precipitation_amount":3.0,)"
             R"("probability_of_precipitation":50.0}})") +
        "," + step("2026-08-22T20:00:00Z", 16, "") + "]}}";
    const Parcel parcel = ok(read_met_norway(body, kNow));
    CHECK(parcel.readings.size() == 7);
    const Reading& first = at(parcel, "2026-08-22T13:00:00Z");
    CHECK(*first.air_temp_c == 21);
    CHECK(*first.rain_mm == 0.4);
    CHECK(*first.rain_probability == doctest::Approx(0.7));
    CHECK(*first.cloud_fraction == doctest::Approx(0.4));
    CHECK(*first.wind_2m_m_s == doctest::Approx(4 * 0.748).epsilon(1e-3));
    CHECK_FALSE(first.solar_w_m2.has_value());
    const Reading& later = at(parcel, "2026-08-22T16:00:00Z"); // the middle is 2.5 of 6 h on
    CHECK(*later.air_temp_c == doctest::Approx(22 - 6 * 2.5 / 6));
    CHECK(*later.rain_mm == doctest::Approx(0.5));
    CHECK(*later.rain_probability == doctest::Approx(0.5));
    CHECK(parcel.coarse_from == parse_iso8601("2026-08-22T14:00:00Z").value());

    for (const std::string& bad :
         {std::string("{}"), std::string(R"({"properties":{"timeseries":[]}})"),
          std::string(R"({"properties":{"timeseries":[7,null,{"time":"noon"}]}})"),
          body.substr(0, body.size() / 2)})
        CHECK_FALSE(read_met_norway(bad, kNow).ok());
}

TEST_CASE("NWS: merged intervals are spread out, rain over its hours") {
    const std::string body = R"({"properties":{
      "temperature":{"uom":"wmoUnit:degC","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/PT3H","value":32.1},
        {"validTime":"2026-08-22T17:00:00-04:00/PT1H","value":30},
        {"validTime":"2026-08-23T00:00:00+00:00/PT2H","value":null}]},
      "dewpoint":{"uom":"wmoUnit:degF","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/P1DT6H","value":68}]},
      "skyCover":{"uom":"wmoUnit:percent","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/PT6H","value":25}]},
      "windSpeed":{"uom":"wmoUnit:km_h-1","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/PT6H","value":18}]},
      "probabilityOfPrecipitation":{"uom":"wmoUnit:percent","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/PT6H","value":80}]},
      "quantitativePrecipitation":{"uom":"wmoUnit:mm","values":[
        {"validTime":"2026-08-22T18:00:00+00:00/PT6H","value":6}]}}})";
    const Parcel parcel = ok(read_nws_grid(body, kNow));
    CHECK(parcel.readings.size() == 30);
    const Reading& seven = at(parcel, "2026-08-22T19:00:00Z");
    CHECK(*seven.air_temp_c == 32.1);
    CHECK(*seven.dew_point_c == doctest::Approx(20));
    CHECK(*seven.cloud_fraction == 0.25);
    CHECK(*seven.wind_2m_m_s == doctest::Approx(5 * 0.748).epsilon(1e-3));
    CHECK(*seven.rain_mm == doctest::Approx(1));
    CHECK(*seven.rain_probability == doctest::Approx(0.8));
    CHECK(*at(parcel, "2026-08-22T21:00:00Z").air_temp_c == 30);
    CHECK_FALSE(at(parcel, "2026-08-23T00:00:00Z").air_temp_c.has_value());
    CHECK_FALSE(read_nws_grid(R"({"properties":{"temperature":{"values":"none"}}})", kNow).ok());
    const auto refused =
        read_nws_grid(R"({"title":"x","status":404,"detail":"no such gridpoint"})", kNow);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().message.find("no such gridpoint") != std::string::npos);
}

TEST_CASE("NWS: the point names the gridpoint, on the same server only") {
    const auto point = [](const std::string& url) {
        return read_nws_point(R"({"properties":{"gridId":"DMX","forecastGridData":")" + url +
                              "\"}}");
    };
    CHECK(ok(point("https://api.example.org/gridpoints/DMX/72,53")) == "/gridpoints/DMX/72,53");
    for (const char* bad : {"", "/gridpoints/DMX/72,53", "https://api.example.org/else/1",
                            "https://api.example.org", "https://a/gridpoints/x y"})
        CHECK_FALSE(point(bad).ok());
}

TEST_CASE("services: what they are asked") {
    const weather::Place place{41.987654321, -93.5, 290.4};
    garden::WeatherFeed feed;
    using Kind = garden::WeatherFeed::Kind;
    feed.kind = Kind::open_meteo;
    CHECK(make_service(feed, place, 1)->path().find("latitude=41.9877&longitude=-93.5&") !=
          std::string::npos);
    feed.kind = Kind::met_norway;
    CHECK(make_service(feed, place, 1)->path().ends_with("lat=41.9877&lon=-93.5&altitude=290"));
    feed.kind = Kind::nws;
    feed.contact = "gardener@example.org";
    feed.url = "https://weather.example.org/";
    const auto nws = make_service(feed, place, 7);
    CHECK(nws->path() == "/points/41.9877,-93.5");
    const auto step = nws->read(
        R"({"properties":{"forecastGridData":"https://x.example.org/gridpoints/DMX/1,2"}})", kNow);
    REQUIRE(step.ok());
    CHECK_FALSE(step->has_value());
    CHECK(nws->path() == "/gridpoints/DMX/1,2");
    nws->begin_anew();
    CHECK(nws->path() == "/points/41.9877,-93.5");
    CHECK(base_url(feed) == "https://weather.example.org");
    CHECK(user_agent(feed).ends_with("(gardener@example.org)"));
}

TEST_CASE("services: times with offsets and lengths of time") {
    CHECK(parse_time_with_offset("2019-07-04T18:00:00+00:00") ==
          parse_iso8601("2019-07-04T18:00:00Z").value());
    CHECK(parse_time_with_offset("2019-07-04T18:00:00-05:30") ==
          parse_iso8601("2019-07-04T23:30:00Z").value());
    for (const char* bad : {"", "+00:00", "2019-07-04", "2019-07-04T18:00:00+0000"})
        CHECK_FALSE(parse_time_with_offset(bad).has_value());
    CHECK(parse_hours("PT3H") == 3);
    CHECK(parse_hours("P1DT6H") == 30);
    CHECK(parse_hours("P2D") == 48);
    for (const char* bad :
         {"", "P", "PT", "3H", "PT0H", "PT30M", "P99999D", "PT-3H", "P1", "PTH", "P400D"})
        CHECK_FALSE(parse_hours(bad).has_value());
}

} // namespace firstmow::weather_source
