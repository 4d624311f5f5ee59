#include "weather/csv_source.hpp"

#include "base/text.hpp"
#include "weather/csv.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;

const WallTime kStart = parse_iso8601("2026-08-22T00:00:00Z").value();
const weather::Place kPlace{41.9, -93.6, 290};
const std::string kHeader = std::string(weather::kCsvHeader) + "\n";

WallTime hour(int i) {
    return kStart + hours(i);
}

std::string line(int i, double temp_c = 20) {
    return to_iso8601(hour(i)) + "," + fixed(temp_c, 1) + ",60.0,1.5,100.0,0.0\n";
}

std::string run_of(int from, int to, double temp_c = 20) {
    std::string text;
    for (int i = from; i < to; ++i)
        text += line(i, temp_c);
    return text;
}

class File {
public:
    File() {
        std::string name =
            (std::filesystem::temp_directory_path() / "firstmow-weather-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        folder_ = name;
    }
    ~File() {
        std::error_code ignored;
        std::filesystem::remove_all(folder_, ignored);
    }
    File(const File&) = delete;
    File& operator=(const File&) = delete;

    std::string path() const { return folder_ + "/weather.csv"; }
    void set(const std::string& text) const { std::ofstream(path(), std::ios::trunc) << text; }
    void add(const std::string& text) const { std::ofstream(path(), std::ios::app) << text; }
    // A new file takes the name.
    void replace(const std::string& text) const {
        std::ofstream(folder_ + "/new") << text;
        std::filesystem::rename(folder_ + "/new", path());
    }
    void remove() const { std::filesystem::remove(path()); }

private:
    std::string folder_;
};

// "0 1 2": the hours, counted from kStart.
std::string when(const std::vector<weather::Hour>& given) {
    std::string text;
    for (const weather::Hour& h : given)
        text += (text.empty() ? "" : " ") + std::to_string((h.start - kStart) / hours{1});
    return text;
}

} // namespace

TEST_CASE("hours that have passed are given once, hours ahead as the forecast") {
    const File file;
    file.set(kHeader + run_of(0, 8));
    CsvSource source(file.path(), kPlace, kStart);
    News news = source.look(hour(5) + Seconds{1800});
    CHECK(when(news.passed) == "0 1 2 3 4");
    CHECK(when(news.ahead) == "5 6 7");
    CHECK(news.remarks.empty());
    CHECK(news.passed[0].temp_origin == weather::Origin::measured);
    CHECK(news.ahead[0].temp_origin == weather::Origin::forecast);
    CHECK(news.ahead[0].rain_origin == weather::Origin::forecast);

    news = source.look(hour(5) + Seconds{1830});
    CHECK(news.passed.empty());
    CHECK(news.ahead.empty()); // nothing has changed
    // The hour is given at its end, not before.
    CHECK(source.look(hour(6) - Seconds{1}).passed.empty());
    news = source.look(hour(6));
    CHECK(when(news.passed) == "5");
    CHECK(when(news.ahead) == "6 7");
}

TEST_CASE("a file that grows is read on from where it ended") {
    const File file;
    file.set(kHeader);
    CsvSource source(file.path(), kPlace, kStart);
    const WallTime late = hour(100);
    CHECK(source.look(late).passed.empty());
    file.add(run_of(0, 3));
    CHECK(when(source.look(late).passed) == "0 1 2");
    // Torn in the middle of a line, in the middle of a number.
    const std::string fourth = line(3, 23.4);
    file.add(fourth.substr(0, 23));
    News news = source.look(late);
    CHECK(news.passed.empty());
    CHECK(news.remarks.empty());
    file.add(fourth.substr(23, 4));
    CHECK(source.look(late).passed.empty());
    file.add(fourth.substr(27) + line(4));
    news = source.look(late);
    CHECK(when(news.passed) == "3 4");
    CHECK(news.passed[0].air_temp_c == doctest::Approx(23.4));
    CHECK(news.remarks.empty());
}

TEST_CASE("a file with soil temperatures gives them with the hours") {
    const File file;
    file.set(std::string(weather::kCsvHeaderWithSoil) + "\n");
    CsvSource source(file.path(), kPlace, kStart);
    std::string lines = run_of(0, 2);
    lines.insert(lines.find('\n'), ",17.5");
    lines.insert(lines.rfind('\n'), ",");
    file.add(lines);
    News news = source.look(hour(100));
    CHECK(news.remarks.empty());
    REQUIRE(when(news.passed) == "0 1");
    CHECK(news.passed[0].soil_temp_c == 17.5);
    CHECK_FALSE(news.passed[1].soil_temp_c.has_value());
    // Replaced by one without.
    file.set(kHeader + run_of(2, 4));
    news = source.look(hour(100));
    CHECK(when(news.passed) == "2 3");
    CHECK(news.remarks.empty());
}

TEST_CASE("a bad line is told of once, with its place, and not used") {
    const File file;
    file.set(kHeader + run_of(0, 2) + "2026-08-22T02:00:00Z,nan,60,1,0,0\n" + run_of(3, 4));
    CsvSource source(file.path(), kPlace, kStart);
    News news = source.look(hour(10));
    CHECK(when(news.passed) == "0 1 3");
    REQUIRE(news.remarks.size() == 1);
    CHECK(news.remarks[0].severity == engine::Severity::warning);
    CHECK(news.remarks[0].text.find(file.path() + ":4:22:") == 0);
    CHECK(source.look(hour(10)).remarks.empty());
    file.add("rubbish\n" + line(4));
    news = source.look(hour(10));
    CHECK(when(news.passed) == "4");
    REQUIRE(news.remarks.size() == 1);
    CHECK(news.remarks[0].text.find(file.path() + ":6:") == 0);
    // Rubbish without end fills neither the log nor the memory.
    std::string rubbish;
    for (int i = 0; i < 1000; ++i)
        rubbish += "rubbish\n";
    file.add(rubbish + std::string(100'000, 'x'));
    CHECK(source.look(hour(10)).remarks.size() < 30);
    file.add("\n" + line(5));
    CHECK(when(source.look(hour(10)).passed) == "5");
}

TEST_CASE("a file that was replaced is read from its beginning") {
    const File file;
    file.set(kHeader + run_of(0, 4, 20));
    CsvSource source(file.path(), kPlace, kStart);
    CHECK(when(source.look(hour(4)).passed) == "0 1 2 3");
    // The same hours again do not come again, new ones do.
    file.replace(kHeader + run_of(2, 7, 30));
    News news = source.look(hour(6));
    CHECK(when(news.passed) == "4 5");
    CHECK(news.passed[0].air_temp_c == doctest::Approx(30));
    CHECK(when(news.ahead) == "6");
    // Cut and written anew in place.
    file.set(kHeader + line(7, 25));
    news = source.look(hour(8));
    CHECK(when(news.passed) == "7");
    CHECK(news.passed[0].air_temp_c == doctest::Approx(25));
    // What the old file said of the hours ahead is gone with it.
    file.replace(kHeader + run_of(8, 9) + run_of(9, 12, 15));
    CHECK(when(source.look(hour(9)).ahead) == "9 10 11");
    file.replace(kHeader + line(9, 18));
    news = source.look(hour(9));
    CHECK(when(news.ahead) == "9");
    CHECK(news.ahead.at(0).air_temp_c == doctest::Approx(18));
}

TEST_CASE("a file that was written anew in its place is read from its beginning") {
    const File file;
    file.set(kHeader + run_of(0, 6, 20));
    CsvSource source(file.path(), kPlace, kStart);
    CHECK(when(source.look(hour(2)).ahead) == "2 3 4 5");
    // As long as before, with another forecast.
    file.set(kHeader + run_of(0, 6, 25));
    News news = source.look(hour(2));
    CHECK(news.passed.empty());
    REQUIRE(when(news.ahead) == "2 3 4 5");
    CHECK(news.ahead[0].air_temp_c == doctest::Approx(25));
    // Longer.
    file.set(kHeader + run_of(1, 12, 30));
    news = source.look(hour(3));
    CHECK(when(news.passed) == "2");
    CHECK(news.passed.at(0).air_temp_c == doctest::Approx(30));
    REQUIRE(when(news.ahead) == "3 4 5 6 7 8 9 10 11");
    CHECK(news.ahead[0].air_temp_c == doctest::Approx(30));
    CHECK(news.remarks.empty());
}

TEST_CASE("a file that is not there is told of once, and read when it comes") {
    const File file;
    CsvSource source(file.path(), kPlace, kStart);
    News news = source.look(hour(3));
    REQUIRE(news.remarks.size() == 1);
    CHECK(news.remarks[0].text.find(file.path()) != std::string::npos);
    CHECK(source.look(hour(3)).remarks.empty());
    file.set(kHeader + run_of(0, 2));
    CHECK(when(source.look(hour(3)).passed) == "0 1");
    file.remove();
    CHECK(source.look(hour(3)).remarks.size() == 1);
    file.set(kHeader + run_of(0, 3));
    CHECK(when(source.look(hour(3)).passed) == "2");
    std::filesystem::remove(file.path());
    std::filesystem::create_directory(file.path());
    CHECK(source.look(hour(3)).remarks.size() == 1);
}

TEST_CASE("only hours from the season's beginning on are given") {
    const File file;
    file.set(kHeader + run_of(-1000, 3));
    CsvSource source(file.path(), kPlace, kStart + Seconds{1800});
    const News news = source.look(hour(2));
    CHECK(when(news.passed) == "0 1");
    CHECK(when(news.ahead) == "2");
    CHECK(news.remarks.empty());
}

TEST_CASE("the last days complete what an hour lacks") {
    const File file;
    // A day with its humidity, then an hour without.
    file.set(kHeader + run_of(-24, 0) + "2026-08-22T00:00:00Z,20.0,,1.5,100.0,0.0\n");
    CsvSource source(file.path(), kPlace, kStart);
    const News news = source.look(hour(1));
    REQUIRE(when(news.passed) == "0");
    CHECK(news.passed[0].humidity_origin != weather::Origin::measured);
    CHECK(news.passed[0].temp_origin == weather::Origin::measured);
    CHECK(news.passed[0].rel_humidity_pct >= 0);
    CHECK(news.passed[0].rel_humidity_pct <= 100);
}

TEST_CASE("a long file is taken in over a few looks") {
    const File file;
    std::string text = kHeader;
    for (int i = -110'000; i < 2; ++i) // some 6 MB, twelve years
        text += line(i);
    file.set(text);
    CsvSource source(file.path(), kPlace, kStart);
    std::string all;
    for (int look = 0; look < 5; ++look)
        all += when(source.look(hour(2)).passed);
    CHECK(all == "0 1");
}

TEST_CASE("a forecast ends at its first gap") {
    const File file;
    file.set(kHeader + run_of(0, 4) + run_of(6, 9));
    CsvSource source(file.path(), kPlace, kStart);
    const News news = source.look(hour(1));
    CHECK(when(news.passed) == "0");
    CHECK(when(news.ahead) == "1 2 3");
}

} // namespace firstmow::weather_source
