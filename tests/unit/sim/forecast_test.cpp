#include "sim/forecast.hpp"

#include "../watering/trial_garden.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using firstmow::trial::kHour;
using firstmow::trial::local;
using sim::forecast;
using sim::ForecastMode;

namespace {

// Ten days, a shower every 31 hours.
std::vector<weather::Hour> truth() {
    auto hours = trial::clear_hours(local(0, 0), 240);
    for (std::size_t i = 20; i + 2 < hours.size(); i += 31) {
        hours[i].rain_mm = 2;
        hours[i + 1].rain_mm = 1;
    }
    return hours;
}

bool same_weather(const weather::Hour& a, const weather::Hour& b) {
    return a.start == b.start && a.air_temp_c == b.air_temp_c &&
           a.rel_humidity_pct == b.rel_humidity_pct && a.wind_2m_m_s == b.wind_2m_m_s &&
           a.solar_w_m2 == b.solar_w_m2 && a.rain_mm == b.rain_mm;
}

} // namespace

TEST_CASE("forecast: perfect is the truth, marked as a forecast") {
    const auto hours = truth();
    for (const std::size_t now : {0U, 1U, 100U, 200U, 239U}) {
        const auto said = forecast(hours, now, ForecastMode::perfect, 1);
        REQUIRE(said.size() == std::min<std::size_t>(60, hours.size() - now));
        for (std::size_t i = 0; i < said.size(); ++i) {
            CHECK(same_weather(said[i], hours[now + i]));
            CHECK(said[i].rain_probability == 1);
            CHECK(said[i].temp_origin == weather::Origin::forecast);
        }
    }
    CHECK(forecast(hours, 240, ForecastMode::perfect, 1).empty());
}

TEST_CASE("forecast: none says nothing") {
    CHECK(forecast(truth(), 0, ForecastMode::none, 1).empty());
}

TEST_CASE("forecast: noisy is the same for the same seed, and another for another") {
    const auto hours = truth();
    const auto one = forecast(hours, 50, ForecastMode::noisy, 1);
    CHECK(one == forecast(hours, 50, ForecastMode::noisy, 1));
    CHECK_FALSE(one == forecast(hours, 50, ForecastMode::noisy, 2));
    // A run of the forecaster lives for some hours; what it says of an hour stays the same.
    CHECK(std::any_of(one.begin(), one.end(), [&](const weather::Hour& h) {
        const auto later = forecast(hours, 51, ForecastMode::noisy, 1);
        return std::find(later.begin(), later.end(), h) != later.end();
    }));
}

TEST_CASE("forecast: noisy stays possible weather, near the truth, and knows no later truth") {
    const auto hours = truth();
    double error = 0;
    double rain_said = 0;
    double rain_true = 0;
    int count = 0;
    for (std::size_t now = 0; now < 170; ++now) {
        const auto said = forecast(hours, now, ForecastMode::noisy, 5);
        REQUIRE(said.size() == 60);
        for (std::size_t i = 0; i < said.size(); ++i) {
            const weather::Hour& real = hours[now + i];
            CHECK(said[i].start == real.start);
            CHECK(said[i].rel_humidity_pct >= 1);
            CHECK(said[i].rel_humidity_pct <= 100);
            CHECK(said[i].wind_2m_m_s >= 0);
            CHECK(said[i].solar_w_m2 >= 0);
            CHECK(said[i].solar_w_m2 <= 1.25 * real.solar_w_m2 + 1e-9);
            CHECK(said[i].rain_mm >= 0);
            CHECK(said[i].rain_probability >= 0);
            CHECK(said[i].rain_probability <= 1);
            CHECK(std::abs(said[i].air_temp_c - real.air_temp_c) < 5 * 1.8);
            error += std::abs(said[i].air_temp_c - real.air_temp_c);
            rain_said += said[i].rain_mm;
            rain_true += real.rain_mm;
            ++count;
        }
    }
    CHECK(error / count > 0.3);
    CHECK(error / count < 2.0);
    CHECK(rain_said > 0.5 * rain_true);
    CHECK(rain_said < 2.0 * rain_true);
}
