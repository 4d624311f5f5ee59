#include "sample.hpp"

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

// The sample with tables after its [weather].
std::string with(const std::string& tables) {
    return sample({{14, "csv = \"weather.csv\"\n" + tables}});
}

WeatherSource weather_of(const std::string& tables) {
    const std::string text = with(tables);
    const auto read_back = read(text);
    const auto* const garden = std::get_if<Garden>(&read_back);
    REQUIRE_MESSAGE(garden != nullptr, report(errors_of(text)));
    return garden->weather;
}

void check_error(const std::string& tables, const std::string& piece) {
    CAPTURE(tables);
    const auto errors = errors_of(with(tables));
    REQUIRE_MESSAGE(errors.size() == 1, report(errors));
    CHECK_MESSAGE(errors[0].message.find(piece) != std::string::npos, errors[0].message);
    CHECK_GE(errors[0].line, 15);
}

} // namespace

TEST_CASE("weather: every kind of source arrives, in order, with what stands for it") {
    const WeatherSource weather = weather_of(R"(
[[weather.source]]
kind = "push"
id = "yard"
wind_height = "3 m"
[[weather.source]]
kind = "mqtt"
url = "mqtt://192.168.1.5:1884"
units = "us"
user = "firstmow"
password_file = "pw"
topics = { temperature = "yard/air#temp", rain = "yard/rain" }
[[weather.source]]
kind = "open_meteo"
every = "30 min"
[[weather.source]]
kind = "met_norway"
contact = "gardener@example.org"
url = "https://weather.example.org"
certificates = "own.pem"
[[weather.source]]
kind = "nws"
contact = "gardener@example.org")");
    using Kind = WeatherFeed::Kind;
    REQUIRE_EQ(weather.feeds.size(), 5);
    CHECK(weather.ids() ==
          std::vector<std::string>{"csv", "yard", "mqtt", "open_meteo", "met_norway", "nws"});
    CHECK(weather.feeds[0].kind == Kind::push);
    CHECK_EQ(weather.feeds[0].wind_height_m, 3);
    CHECK(weather.feeds[1].units == Units::us);
    CHECK_EQ(weather.feeds[1].topics.temperature, "yard/air#temp");
    CHECK_EQ(weather.feeds[1].topics.rain, "yard/rain");
    CHECK_EQ(weather.feeds[1].password_file.value(), "pw");
    CHECK_EQ(weather.feeds[2].every_s, 1800);
    CHECK(weather.feeds[2].url.empty());
    CHECK_EQ(weather.feeds[3].url, "https://weather.example.org");
    CHECK_EQ(weather.feeds[3].certificates.value(), "own.pem");
    CHECK_EQ(weather.feeds[4].contact, "gardener@example.org");
}

TEST_CASE("weather: what is wrong is said, with what would be right") {
    const std::string source = "[[weather.source]]\n";
    check_error(source + "kind = \"open_metro\"", "open_meteo");
    check_error(source + "id = \"a\"", "kind");
    check_error(source + "kind = \"met_norway\"", "contact");
    check_error(source + "kind = \"nws\"", "contact");
    check_error(source + "kind = \"mqtt\"\ntopics = { temperature = \"a\" }", "url");
    check_error(source + "kind = \"mqtt\"\nurl = \"mqtts://broker.example.org\"", "topics");
    check_error(source + "kind = \"mqtt\"\nurl = \"mqtt://10.0.0.1\"\ntopics = { rain = \"a\" }",
                "temperature");
    check_error(source + "kind = \"mqtt\"\nurl = \"mqtt://10.0.0.1\"\n"
                         "topics = { temperature = \"yard/+/temp\" }",
                "pattern");
    check_error(source + "kind = \"open_meteo\"\nevery = \"1 min\"", "every");
    check_error(source + "kind = \"open_meteo\"\nurl = \"weather.example.org\"", "https://");
    check_error(source + "kind = \"push\"\nurl = \"https://example.org\"", "leaving it out");
    check_error(source + "kind = \"open_meteo\"\nwind_height = \"2 m\"", "leaving it out");
    check_error(source + "kind = \"push\"\nid = \"csv\"", "no id");
    check_error(source + "kind = \"push\"\n" + source + "kind = \"push\"", "stands above");
    check_error("[weather.source]\nkind = \"push\"", "double brackets");
    std::string many;
    for (int i = 0; i < 9; ++i)
        many += source + "kind = \"push\"\nid = \"p" + std::to_string(i) + "\"\n";
    check_error(many, "more than 8");
}

TEST_CASE("weather: without encryption only inside of the house") {
    const std::string source = "[[weather.source]]\nkind = \"open_meteo\"\nurl = ";
    for (const char* home :
         {"http://127.0.0.1:8123", "http://localhost", "http://[::1]:80", "http://192.168.3.4/x",
          "http://10.1.2.3", "http://172.20.0.1", "http://board.local:80"})
        CHECK_EQ(weather_of(source + "\"" + home + "\"").feeds[0].url, home);
    for (const char* away :
         {"http://example.org", "http://172.32.0.1", "http://8.8.8.8", "http://127.example.org"})
        check_error(source + "\"" + away + "\"", "without encryption");
}
