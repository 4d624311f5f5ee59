#include "weather/desk.hpp"

#include <cmath>
#include <numbers>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

using std::chrono::hours;
using std::chrono::minutes;

constexpr Place kPlace{45, 0, 100};
const WallTime kMidnight = parse_iso8601("2026-08-20T00:00:00Z").value();
constexpr std::uint8_t kStation = 1;
constexpr std::uint8_t kNear = 2;
constexpr std::uint8_t kFar = 3;

WallTime at(int hour) {
    return kMidnight + hours{hour};
}

Reading weather_of(int hour) {
    const double wave = std::cos(2 * std::numbers::pi * (hour - 15) / 24);
    Reading r;
    r.start = at(hour);
    r.air_temp_c = 20 + 6 * wave;
    r.rel_humidity_pct = 65 - 20 * wave;
    r.wind_2m_m_s = 2;
    r.solar_w_m2 =
        std::max(0.0, 700 * std::sin(2 * std::numbers::pi * ((hour + 24) % 24 - 6) / 24.0));
    r.rain_mm = 0;
    return r;
}

Desk make_desk(int first = 0) {
    return Desk(kPlace, {{"station", true}, {"near", false}, {"far", false}}, at(first));
}

Parcel measured(int from, int to) {
    Parcel parcel{kStation, ParcelKind::measured, at(to), {}};
    for (int h = from; h < to; ++h) {
        parcel.readings.push_back(weather_of(h));
        parcel.readings.back().wind_2m_m_s = 1.5 + 0.1 * (h % 7);
    }
    return parcel;
}

Parcel forecast(std::uint8_t source, int issued, int from, int to, double warmer = 0) {
    Parcel parcel{source, ParcelKind::forecast, at(issued), {}};
    for (int h = from; h < to; ++h) {
        parcel.readings.push_back(weather_of(h));
        *parcel.readings.back().air_temp_c += warmer;
        parcel.readings.back().rain_probability = 0.3;
    }
    return parcel;
}

std::int64_t flags(const Desk& desk, Flaw flaw) {
    return desk.state().sources[0].flag_counts[static_cast<std::size_t>(flaw)];
}

} // namespace

TEST_CASE("a station's hours go out once each, as measured, with its number") {
    Desk desk = make_desk();
    desk.take(measured(0, 5), at(5));
    const DeskNews news = desk.look(at(5));
    REQUIRE_EQ(news.passed.size(), 5);
    for (int h = 0; h < 5; ++h) {
        const Hour& hour = news.passed[static_cast<std::size_t>(h)];
        CHECK_EQ(hour.start, at(h));
        CHECK_EQ(hour.air_temp_c, doctest::Approx(*weather_of(h).air_temp_c).epsilon(0.001));
        CHECK_EQ(hour.temp_origin, Origin::measured);
        CHECK_EQ(hour.sources, std::array<std::uint8_t, 5>{1, 1, 1, 1, 1});
    }
    CHECK(desk.look(at(5)).passed.empty());
}

TEST_CASE("measured beats forecast, value by value; each says whence it is") {
    Desk desk = make_desk();
    desk.take(forecast(kNear, 0, -48, 48), at(0));
    Parcel parcel{kStation, ParcelKind::measured, at(1), {}};
    Reading reading; // a station without wind and sun
    reading.start = at(0);
    reading.air_temp_c = 13;
    reading.rain_mm = 0.4;
    parcel.readings = {reading};
    desk.take(parcel, at(1));
    const DeskNews news = desk.look(at(1));
    REQUIRE_EQ(news.passed.size(), 1);
    const Hour& hour = news.passed[0];
    CHECK_EQ(hour.air_temp_c, 13);
    CHECK_EQ(hour.rain_mm, 0.4);
    CHECK_EQ(hour.rain_probability, 1);
    CHECK_EQ(hour.temp_origin, Origin::measured);
    CHECK_EQ(hour.wind_origin, Origin::forecast);
    CHECK_EQ(hour.wind_2m_m_s, 2);
    CHECK_EQ(hour.sources, std::array<std::uint8_t, 5>{1, 2, 2, 2, 1});
}

TEST_CASE("a station that speaks is waited for, one that is dead is not") {
    Desk desk = make_desk();
    desk.take(forecast(kNear, 0, 0, 60), at(0));
    desk.take(measured(0, 1), at(1));
    CHECK_EQ(desk.look(at(1)).passed.size(), 1);
    CHECK(desk.look(at(2) + minutes{20}).passed.empty());
    Desk late = desk;
    late.take(measured(1, 2), at(2) + minutes{21});
    const DeskNews came = late.look(at(2) + minutes{21});
    REQUIRE_EQ(came.passed.size(), 1);
    CHECK_EQ(came.passed[0].temp_origin, Origin::measured);
    // It does not come: the forecast stands in, and soon nobody waits any more.
    const DeskNews missed = desk.look(at(2) + minutes{26});
    REQUIRE_EQ(missed.passed.size(), 1);
    CHECK_EQ(missed.passed[0].temp_origin, Origin::forecast);
    CHECK_EQ(missed.passed[0].sources[0], kNear);
    (void)desk.look(at(3) + minutes{26});
    (void)desk.look(at(4) + minutes{26});
    CHECK_EQ(desk.look(at(5) + minutes{6}).passed.size(), 1);
    // When it comes back it is believed again at once; what was missed is flagged as late.
    desk.take(measured(1, 6), at(6));
    CHECK_EQ(flags(desk, Flaw::late), 4);
    const DeskNews back = desk.look(at(6));
    REQUIRE_EQ(back.passed.size(), 1);
    CHECK_EQ(back.passed[0].temp_origin, Origin::measured);
}

TEST_CASE("near beats far, but not when it is stale or coarse") {
    Desk desk = make_desk();
    desk.take(forecast(kFar, 0, 0, 60, 5), at(0));
    desk.take(forecast(kNear, 0, 0, 60), at(0));
    CHECK_EQ(desk.look(at(0)).ahead[3].sources[0], kNear);
    Parcel coarse = forecast(kNear, 1, 0, 60);
    coarse.coarse_from = at(6);
    desk.take(coarse, at(1));
    const DeskNews news = desk.look(at(1));
    REQUIRE_FALSE(news.ahead.empty());
    CHECK_EQ(news.ahead[0].sources[0], kNear);
    CHECK_EQ(news.ahead[10].sources[0], kFar);
    // Fourteen hours later the far one has been renewed, the near one has not.
    desk.take(forecast(kFar, 15, 10, 80, 7), at(15));
    const auto renewed = desk.look(at(15)).ahead;
    REQUIRE_FALSE(renewed.empty());
    CHECK_EQ(renewed[0].sources[0], kFar);
}

TEST_CASE("the forecast is given again only when it changed enough to matter") {
    Desk desk = make_desk();
    desk.take(forecast(kNear, 0, 0, 96), at(0));
    CHECK_EQ(desk.look(at(0)).ahead.size(), 72);
    desk.take(forecast(kNear, 1, 0, 96, 0.1), at(1));
    CHECK(desk.look(at(1)).ahead.empty());
    desk.take(forecast(kNear, 2, 0, 96, 0.8), at(2));
    const auto changed = desk.look(at(2)).ahead;
    REQUIRE_FALSE(changed.empty());
    CHECK_EQ(changed[0].start, at(2));
    CHECK_EQ(changed[0].temp_origin, Origin::forecast);
    CHECK_EQ(changed[0].rain_probability, 0.3);
}

TEST_CASE("a forecast is put right by what the station showed of it, within bounds") {
    Desk desk = make_desk(-48);
    desk.take(forecast(kNear, -49, -48, 48, 2), at(-49)); // two degrees too warm
    desk.take(measured(-48, 0), at(0));
    const Bias bias = desk.bias(1, at(0));
    CHECK_EQ(bias.hours, 48);
    CHECK_LT(bias.temp_c, -1.4);
    CHECK_GT(bias.temp_c, -2);
    const auto ahead = desk.look(at(0)).ahead;
    CHECK_EQ(ahead[12].air_temp_c,
             doctest::Approx(*weather_of(12).air_temp_c + 2 + bias.temp_c).epsilon(0.01));
    // However wrong it was, only so far.
    Desk wild = make_desk(-48);
    wild.take(forecast(kNear, -49, -48, 48, 15), at(-49));
    wild.take(measured(-48, 0), at(0));
    CHECK_EQ(wild.bias(1, at(0)).temp_c, -kMostTempBias_c);
    // Few hours prove little.
    Desk young = make_desk(-2);
    young.take(forecast(kNear, -3, -2, 48, 2), at(-3));
    young.take(measured(-2, 0), at(0));
    CHECK_GT(young.bias(1, at(0)).temp_c, -1);
    CHECK_EQ(desk.bias(2, at(0)), Bias{});
}

TEST_CASE("doubtful values are kept, not used, and the hour is made without them") {
    Desk desk = make_desk();
    desk.take(forecast(kNear, 0, 0, 48), at(0));
    desk.take(measured(0, 10), at(10));
    (void)desk.look(at(10));
    Parcel wrong = measured(10, 11);
    wrong.readings[0].air_temp_c = 71;
    desk.take(wrong, at(11));
    const DeskNews news = desk.look(at(11));
    REQUIRE_EQ(news.passed.size(), 1);
    CHECK_EQ(news.passed[0].temp_origin, Origin::forecast);
    CHECK_EQ(news.passed[0].rain_origin, Origin::measured);
    CHECK_EQ(desk.state().sources[0].measured.at(at(10)).told.air_temp_c, 71);
    REQUIRE_EQ(news.said.size(), 1);
    CHECK_NE(news.said[0].find("deg F"), std::string::npos);
    // Said once a day, not once an hour.
    wrong = measured(11, 12);
    wrong.readings[0].air_temp_c = 73;
    desk.take(wrong, at(12));
    CHECK(desk.look(at(12)).said.empty());
}

TEST_CASE("hours of the future, told twice, or with holes between them are flagged") {
    Desk desk = make_desk();
    desk.take(measured(0, 3), at(3));
    (void)desk.look(at(3));
    desk.take(measured(8, 9), at(3)); // its clock is wrong
    CHECK_EQ(flags(desk, Flaw::future), 1);
    desk.take(measured(0, 3), at(3)); // the same again is no harm
    CHECK_EQ(flags(desk, Flaw::duplicate), 0);
    Parcel other = measured(2, 3);
    other.readings[0].air_temp_c = 19;
    desk.take(other, at(3));
    CHECK_EQ(flags(desk, Flaw::duplicate), 1);
    desk.take(measured(6, 7), at(7));
    CHECK_EQ(flags(desk, Flaw::gap), 1);
    // The hours of the hole are left to whoever assumes; the known one is given.
    const DeskNews news = desk.look(at(7));
    REQUIRE_EQ(news.passed.size(), 1);
    CHECK_EQ(news.passed[0].start, at(6));
}

TEST_CASE("rain that only a model saw counts by its probability") {
    Desk desk = make_desk();
    Parcel parcel = forecast(kNear, 0, 0, 48);
    parcel.readings[0].rain_mm = 2;
    parcel.readings[1].rain_mm = 2;
    parcel.readings[1].rain_probability = 0.9;
    desk.take(parcel, at(0));
    const DeskNews news = desk.look(at(2) + minutes{6});
    REQUIRE_EQ(news.passed.size(), 2);
    CHECK_EQ(news.passed[0].rain_mm, 0);
    CHECK_EQ(news.passed[1].rain_mm, doctest::Approx(2 * 0.7 * 0.9));
    CHECK_EQ(news.passed[1].rain_probability, 1);
}

TEST_CASE("cloud makes sun, dew point makes humidity, and both name their source") {
    Desk desk = make_desk();
    Parcel parcel{kNear, ParcelKind::forecast, at(0), {}};
    for (int h = 0; h < 48; ++h) {
        Reading r;
        r.start = at(h);
        r.air_temp_c = 20;
        r.dew_point_c = 20;
        r.cloud_fraction = h < 24 ? 0 : 1;
        parcel.readings.push_back(r);
    }
    desk.take(parcel, at(0));
    const auto ahead = desk.look(at(0)).ahead;
    REQUIRE_EQ(ahead.size(), 48);
    CHECK_EQ(ahead[12].rel_humidity_pct, 100);
    CHECK_EQ(ahead[12].humidity_origin, Origin::forecast);
    CHECK_EQ(ahead[12].solar_origin, Origin::estimated);
    CHECK_EQ(ahead[12].sources, std::array<std::uint8_t, 5>{2, 2, 0, 2, 0});
    // Kasten and Czeplak 1980: a quarter comes through an overcast sky.
    CHECK_EQ(ahead[36].solar_w_m2 / ahead[12].solar_w_m2, doctest::Approx(0.25).epsilon(0.02));
}

TEST_CASE("the garden's own gauge stands nearest") {
    Desk desk = make_desk();
    desk.take(measured(0, 1), at(1));
    Parcel gauge{kGardenSensors, ParcelKind::measured, at(1), {}};
    Reading r;
    r.start = at(0);
    r.rain_mm = 3.2;
    gauge.readings = {r};
    desk.take(gauge, at(1));
    const DeskNews news = desk.look(at(1));
    REQUIRE_EQ(news.passed.size(), 1);
    CHECK_EQ(news.passed[0].rain_mm, 3.2);
    CHECK_EQ(news.passed[0].sources, std::array<std::uint8_t, 5>{1, 1, 1, 1, kGardenSensors});
}

TEST_CASE("a restart takes up where it was; nothing is given twice") {
    Desk desk = make_desk();
    desk.take(measured(0, 5), at(5));
    desk.take(forecast(kNear, 5, 5, 72), at(5));
    (void)desk.look(at(5));
    Desk again = make_desk();
    again.take_up(desk.state(), at(5));
    const DeskNews news = again.look(at(5) + minutes{10});
    CHECK(news.passed.empty());
    CHECK_GT(news.ahead.size(), 60); // the engine is told anew
    CHECK_EQ(again.bias(1, at(6)), desk.bias(1, at(6)));
    // Another list of sources: begun anew.
    Desk other(kPlace, {{"station", true}}, at(5));
    other.take_up(desk.state(), at(5));
    CHECK(other.state().sources[0].measured.empty());
}

TEST_CASE("whatever comes, the desk stays small") {
    Desk desk = make_desk();
    for (int day = 0; day < 40; ++day) {
        desk.take(measured(24 * day, 24 * day + 24), at(24 * day + 24));
        desk.take(forecast(kNear, 24 * day, 24 * day - 100, 24 * day + 800), at(24 * day));
        (void)desk.look(at(24 * day + 24));
    }
    for (const auto& source : desk.state().sources) {
        CHECK_LE(source.measured.size(), 73);
        CHECK_LE(source.forecast.size(), 72 + 24 + 241);
        CHECK_LE(source.flags.size(), kMostFlags);
    }
    CHECK_LE(desk.state().blended.size(), 72);
}
