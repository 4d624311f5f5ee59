#include "weather/quality.hpp"

#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

using std::chrono::hours;

constexpr Place kPlace{45, 0, 100}; // on the meridian: UTC is about solar time
const WallTime kMidnight = parse_iso8601("2026-08-20T00:00:00Z").value();

// A station's ordinary summer days.
std::vector<Reading> days(int count) {
    std::vector<Reading> readings;
    for (int h = 0; h < count; ++h) {
        const double wave = std::cos(2 * std::numbers::pi * (h - 15) / 24);
        Reading r;
        r.start = kMidnight + hours{h};
        r.air_temp_c = 20 + 6 * wave;
        r.rel_humidity_pct = 65 - 20 * wave;
        r.wind_2m_m_s = 1.5 + wave;
        r.solar_w_m2 = std::max(0.0, 700 * std::sin(2 * std::numbers::pi * (h % 24 - 6) / 24.0));
        r.rain_mm = 0;
        readings.push_back(r);
    }
    return readings;
}

std::vector<Flag> judge_last(const std::vector<Reading>& told,
                             std::optional<double> expected = {}) {
    return judge(kPlace, told, std::span(told).first(told.size() - 1), expected);
}

// The flaw of the only flag, and that it is of this variable.
void check_only(const std::vector<Flag>& flags, Variable variable, Flaw flaw) {
    REQUIRE_EQ(flags.size(), 1);
    CHECK_EQ(flags[0].variable, variable);
    CHECK_EQ(flags[0].flaw, flaw);
    CHECK_FALSE(words(flags[0]).empty());
}

} // namespace

TEST_CASE("ordinary days are believed, hour by hour") {
    const auto told = days(72);
    for (std::size_t n = 1; n <= told.size(); ++n)
        CHECK(judge_last({told.begin(), told.begin() + static_cast<std::ptrdiff_t>(n)}).empty());
}

TEST_CASE("what cannot be is flagged: ranges, sun by night, more sun than there is") {
    auto told = days(38); // the last is 13 h
    told.back().rel_humidity_pct = 131;
    check_only(judge_last(told), Variable::humidity, Flaw::range);
    told = days(38);
    told.back().wind_2m_m_s = -0.1;
    check_only(judge_last(told), Variable::wind, Flaw::range);
    told = days(38);
    told.back().solar_w_m2 = 1300;
    check_only(judge_last(told), Variable::solar, Flaw::range);
    told = days(26); // 1 h
    told.back().solar_w_m2 = 60;
    check_only(judge_last(told), Variable::solar, Flaw::range);
    told = days(38);
    told.back().air_temp_c = std::nan("");
    check_only(judge_last(told), Variable::temperature, Flaw::range);
}

TEST_CASE("a leap is doubted once, believed when the next hour stays there") {
    auto told = days(20);
    const double before = *told[17].air_temp_c;
    told[18].air_temp_c = before - 18;
    told[19].air_temp_c = before - 17;
    auto at_leap = told;
    at_leap.pop_back();
    check_only(judge_last(at_leap), Variable::temperature, Flaw::rate);
    auto accepted = at_leap;
    accepted.back().air_temp_c.reset();
    CHECK(judge(kPlace, told, accepted, std::nullopt).empty());
    // One that comes back was a spike: the next hour is believed, too.
    told[19].air_temp_c = before;
    CHECK(judge(kPlace, told, accepted, std::nullopt).empty());
}

TEST_CASE("a sensor that stands still is told from weather that does") {
    auto told = days(38);
    for (auto r = told.end() - 10; r != told.end(); ++r)
        r->air_temp_c = 21.3;
    check_only(judge_last(told), Variable::temperature, Flaw::stuck);
    told = days(38);
    for (auto r = told.end() - 20; r != told.end(); ++r)
        r->rel_humidity_pct = 100; // fog
    CHECK(judge_last(told).empty());
    for (auto r = told.end() - 20; r != told.end(); ++r)
        r->rel_humidity_pct = 61;
    check_only(judge_last(told), Variable::humidity, Flaw::stuck);
    told = days(60);
    for (auto r = told.end() - 30; r != told.end(); ++r)
        r->wind_2m_m_s = 0; // calm
    CHECK(judge_last(told).empty());
    for (auto& r : told)
        r.wind_2m_m_s = 0; // a cup that does not turn
    told.resize(50);
    check_only(judge_last(told), Variable::wind, Flaw::stuck);
    told = days(37); // 12 h
    told[35].solar_w_m2 = 0;
    told[36].solar_w_m2 = 0;
    check_only(judge_last(told), Variable::solar, Flaw::stuck);
}

TEST_CASE("deg F is recognised with another source and without one") {
    for (const std::optional<double> expected : {std::optional<double>(22), {}}) {
        std::vector<Reading> told;
        int flagged = 0;
        for (Reading r : days(48)) {
            r.air_temp_c = *r.air_temp_c * 1.8 + 32;
            told.push_back(r);
            for (const Flag& flag : judge_last(told, expected))
                flagged += flag.variable == Variable::temperature;
        }
        CHECK_GE(flagged, 36); // the coldest hours lie where the season could be
    }
    // The same station on deg C, in a heat that nobody expected.
    auto told = days(40);
    for (Reading& r : told)
        r.air_temp_c = *r.air_temp_c + 14;
    CHECK(judge_last(told, 24).empty());
    CHECK(judge_last(told).empty());
}

TEST_CASE("rain in a burst: never so much, and not out of dry air") {
    auto told = days(38);
    told.back().rain_mm = 120;
    check_only(judge_last(told), Variable::rain, Flaw::burst);
    told.back().rain_mm = 35;
    told.back().rel_humidity_pct = 40;
    check_only(judge_last(told), Variable::rain, Flaw::burst);
    told.back().rel_humidity_pct = 90; // a thunderstorm
    CHECK(judge_last(told).empty());
}

TEST_CASE("what is flagged is taken out, the rest of the hour stays") {
    auto told = days(38);
    told.back().rain_mm = 120;
    const Reading clean = without(told.back(), judge_last(told));
    CHECK_FALSE(clean.rain_mm.has_value());
    CHECK_EQ(clean.air_temp_c, told.back().air_temp_c);
}
