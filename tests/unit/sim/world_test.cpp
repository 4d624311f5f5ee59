// Invented weather: the same for the same arguments, possible everywhere, and coherent.
#include "sim/world.hpp"

#include "weather/csv.hpp"
#include "weather/reference_et.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::sim;
using std::chrono::hours;
using weather::Reading;

namespace {

WallTime at(const char* text) {
    return parse_iso8601(text).value();
}

Date day(const char* text) {
    return parse_date(text).value();
}

// Sixty days of late summer at a prairie place whose days begin at 06:00 UTC.
WorldSpec late_summer() {
    WorldSpec spec;
    spec.place = {41, -90, 210};
    spec.from = at("2026-08-01T06:00:00Z");
    spec.hours = 60 * 24;
    return spec;
}

// The hours of the local days `first` to `last` of late_summer().
std::vector<Reading> days_of(const std::vector<Reading>& readings, const char* first,
                             const char* last) {
    const WallTime begin = WallTime{std::chrono::sys_days{day(first)}} + hours{6};
    const WallTime end = WallTime{std::chrono::sys_days{day(last)}} + hours{30};
    std::vector<Reading> out;
    for (const Reading& r : readings)
        if (r.start >= begin && r.start < end) out.push_back(r);
    return out;
}

double sum_of(const std::vector<Reading>& readings, std::optional<double> Reading::*value) {
    double sum = 0;
    for (const Reading& r : readings)
        sum += (r.*value).value();
    return sum;
}

double highest(const std::vector<Reading>& readings, std::optional<double> Reading::*value) {
    double most = -1e9;
    for (const Reading& r : readings)
        most = std::max(most, (r.*value).value());
    return most;
}

double mean_of(const std::vector<Reading>& readings, std::optional<double> Reading::*value) {
    return sum_of(readings, value) / static_cast<double>(readings.size());
}

} // namespace

TEST_CASE("the same arguments make the same weather, another seed other weather") {
    const WorldSpec spec = late_summer();
    CHECK(invent(spec, 7) == invent(spec, 7));
    CHECK(invent(spec, 7) != invent(spec, 8));
}

TEST_CASE("an hour does not depend on where the window begins") {
    WorldSpec spec = late_summer();
    const auto whole = invent(spec, 3);
    spec.from += hours{31};
    spec.hours = 100;
    const auto part = invent(spec, 3);
    REQUIRE(part.size() == 100);
    CHECK(std::equal(part.begin(), part.end(), whole.begin() + 31));
}

TEST_CASE("any place and season gives a file that the strict reader takes") {
    for (const double latitude : {-90.0, -66.0, -41.0, 0.0, 23.5, 51.0, 70.0, 90.0}) {
        for (const double longitude : {-180.0, -7.6, 179.9}) {
            for (const char* from :
                 {"2024-02-28T23:00:00Z", "2026-06-20T00:00:00Z", "1969-12-30T12:00:00Z"}) {
                WorldSpec spec;
                spec.place = {latitude, longitude, latitude > 60 ? 3000.0 : -100.0};
                spec.from = at(from);
                spec.hours = 24 * 20;
                spec.storm = add_days(std::chrono::floor<std::chrono::days>(spec.from), 9);
                spec.storm_mm = 40;
                const auto read = weather::read_csv(weather::write_csv(invent(spec, 11)));
                CAPTURE(latitude);
                CAPTURE(from);
                if (!read.faults.empty()) FAIL(weather::located("invented", read.faults.front()));
                CHECK(read.readings.size() == 480);
            }
        }
    }
}

TEST_CASE("sun, temperature, humidity and wind hang together") {
    const WorldSpec spec = late_summer();
    const auto readings = invent(spec, 5);
    weather::CloudMemory clouds;
    double et_mm = 0;
    int dark = 0;
    for (const Reading& r : readings) {
        const double vapour =
            weather::saturation_vapour_kpa(*r.air_temp_c) * *r.rel_humidity_pct / 100;
        const auto et = weather::hourly_et(
            weather::Reference::asce_short, spec.place, r.start,
            {*r.air_temp_c, vapour, *r.wind_2m_m_s, *r.solar_w_m2 * 3600 / 1e6}, clouds);
        CHECK(*r.solar_w_m2 * 3600 / 1e6 <= et.clear_sky_mj + 1e-9);
        if (et.extraterrestrial_mj <= 0) {
            CHECK(*r.solar_w_m2 == 0);
            ++dark;
        }
        CHECK(*r.rel_humidity_pct < 100);
        et_mm += et.et_mm;
    }
    CHECK(dark > 60 * 8);
    // Late summer of a continental climate at 41 degrees: common practice, no source.
    CHECK(et_mm / 60 > 3.0);
    CHECK(et_mm / 60 < 6.0);
    CHECK(mean_of(readings, &Reading::air_temp_c) > 16);
    CHECK(mean_of(readings, &Reading::air_temp_c) < 26);
    const double rain_mm = sum_of(readings, &Reading::rain_mm);
    CHECK(rain_mm > 50);
    CHECK(rain_mm < 350);

    // By hour of the day: warmest, driest and windiest in the afternoon.
    const auto mean_at = [&](int local_hour, std::optional<double> Reading::*value) {
        double sum = 0;
        for (std::size_t i = static_cast<std::size_t>(local_hour); i < readings.size(); i += 24)
            sum += (readings[i].*value).value();
        return sum / 60;
    };
    CHECK(mean_at(15, &Reading::air_temp_c) > mean_at(5, &Reading::air_temp_c) + 6);
    CHECK(mean_at(15, &Reading::rel_humidity_pct) < mean_at(5, &Reading::rel_humidity_pct) - 20);
    CHECK(mean_at(14, &Reading::wind_2m_m_s) > 1.5 * mean_at(3, &Reading::wind_2m_m_s));
}

TEST_CASE("temperature passes from hour to hour without a jump, across midnight too") {
    WorldSpec spec = late_summer();
    spec.hot_spell = DaySpan{day("2026-08-20"), day("2026-08-23")};
    spec.dewy = DaySpan{day("2026-09-01"), day("2026-09-04")};
    const auto readings = invent(spec, 9);
    for (std::size_t i = 1; i < readings.size(); ++i) {
        CAPTURE(to_iso8601(readings[i].start));
        CHECK(std::abs(*readings[i].air_temp_c - *readings[i - 1].air_temp_c) < 6.5);
    }
}

TEST_CASE("winter is colder than summer, in either hemisphere") {
    const auto mean_c = [](double latitude, const char* from) {
        WorldSpec spec;
        spec.place = {latitude, 10, 100};
        spec.from = at(from);
        spec.hours = 24 * 60;
        return mean_of(invent(spec, 1), &Reading::air_temp_c);
    };
    CHECK(mean_c(45, "2026-01-01T00:00:00Z") < mean_c(45, "2026-07-01T00:00:00Z") - 15);
    CHECK(mean_c(-45, "2026-07-01T00:00:00Z") < mean_c(-45, "2026-01-01T00:00:00Z") - 15);
    CHECK(mean_c(2, "2026-01-01T00:00:00Z") > 22);
}

TEST_CASE("a hot spell comes when it is wanted, whatever the seed") {
    WorldSpec spec = late_summer();
    spec.hot_spell = DaySpan{day("2026-09-18"), day("2026-09-21")};
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        const auto readings = invent(spec, seed);
        CAPTURE(seed);
        const auto hot = days_of(readings, "2026-09-18", "2026-09-21");
        REQUIRE(hot.size() == 96);
        CHECK(highest(hot, &Reading::air_temp_c) == doctest::Approx(34).epsilon(0.03));
        CHECK(sum_of(hot, &Reading::rain_mm) == 0);
        for (const char* of : {"2026-09-20", "2026-09-21"})
            CHECK(highest(days_of(readings, of, of), &Reading::air_temp_c) > 33);
    }
}

TEST_CASE("a thunderstorm brings its water in two hours of an evening, and cooler air") {
    WorldSpec spec = late_summer();
    spec.storm = day("2026-09-10");
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        const auto readings = invent(spec, seed);
        CAPTURE(seed);
        const auto stormy = days_of(readings, "2026-09-10", "2026-09-10");
        REQUIRE(stormy.size() == 24);
        CHECK(*stormy[18].rain_mm + *stormy[19].rain_mm == doctest::Approx(25));
        CHECK(sum_of(stormy, &Reading::rain_mm) == doctest::Approx(25));
        CHECK(*stormy[19].air_temp_c < *stormy[16].air_temp_c - 4);
        CHECK(*stormy[18].rel_humidity_pct > 85);
    }
}

TEST_CASE("dewy nights are calm, clear and let the reference surface gather dew") {
    WorldSpec spec = late_summer();
    spec.dewy = DaySpan{day("2026-09-02"), day("2026-09-05")};
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        const auto dewy = days_of(invent(spec, seed), "2026-09-02", "2026-09-05");
        weather::CloudMemory clouds;
        double dew_mm = 0;
        double calmest_m_s = 99;
        for (const Reading& r : dewy) {
            const double vapour =
                weather::saturation_vapour_kpa(*r.air_temp_c) * *r.rel_humidity_pct / 100;
            const auto et = weather::hourly_et(
                weather::Reference::asce_short, spec.place, r.start,
                {*r.air_temp_c, vapour, *r.wind_2m_m_s, *r.solar_w_m2 * 3600 / 1e6}, clouds);
            dew_mm += std::max(-et.et_mm, 0.0);
            calmest_m_s = std::min(calmest_m_s, *r.wind_2m_m_s);
        }
        CHECK(sum_of(dewy, &Reading::rain_mm) == 0);
        CHECK(highest(dewy, &Reading::rel_humidity_pct) > 96);
        CHECK(calmest_m_s < 0.7);
        // Three whole nights and two halves; a heavy dew is 0.2 mm a night.
        CHECK(dew_mm > 0.15);
        CHECK(dew_mm < 1.2);
    }
}
