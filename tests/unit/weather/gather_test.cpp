#include "weather/gather.hpp"

#include <doctest/doctest.h>

#include <cmath>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

using std::chrono::minutes;

const WallTime kTen = parse_iso8601("2026-08-20T10:00:00Z").value();

Sample sample(int minute, double temp_c) {
    Sample s;
    s.time = kTen + minutes{minute};
    s.air_temp_c = temp_c;
    return s;
}

} // namespace

TEST_CASE("readings of an hour become its mean over time") {
    Gather gather;
    // Every five minutes, then every ten: each stands for the time since the one before.
    for (int m = 0; m <= 30; m += 5)
        gather.take(sample(m, 20));
    for (int m = 40; m <= 60; m += 10)
        gather.take(sample(m, 23));
    const auto hours = gather.finished(kTen + minutes{60});
    REQUIRE_EQ(hours.size(), 1);
    CHECK_EQ(hours[0].start, kTen);
    CHECK_EQ(*hours[0].air_temp_c, doctest::Approx((30 * 20 + 30 * 23) / 60.0));
    CHECK_FALSE(hours[0].rain_mm.has_value());
    CHECK(gather.finished(kTen + minutes{61}).empty());
}

TEST_CASE("an hour is given when it is over, and needs half of it told") {
    Gather gather;
    for (int m = 1; m <= 58; m += 3)
        gather.take(sample(m, 20));
    CHECK(gather.finished(kTen + minutes{61}).empty()); // a late reading may still come
    CHECK_EQ(gather.finished(kTen + minutes{62}).size(), 1);
    // Twenty minutes of the next.
    gather.take(sample(70, 20));
    CHECK(gather.finished(kTen + minutes{125}).empty());
    // After a silence one reading speaks for twenty minutes only.
    gather.take(sample(178, 30));
    gather.take(sample(181, 30));
    CHECK(gather.finished(kTen + minutes{185}).empty());
}

TEST_CASE("rain from a counter that goes up, through midnight and a new battery") {
    Gather gather;
    double counter = 3.0;
    for (int m = 0; m <= 120; m += 5) {
        Sample s = sample(m, 15);
        if (m == 30) counter += 0.4;
        if (m == 60) counter = 0; // its midnight
        if (m == 75) counter += 1.2;
        if (m == 90) counter = 0.2; // began anew, and counted since
        s.rain_counter_mm = counter;
        gather.take(s);
    }
    const auto hours = gather.finished(kTen + minutes{122});
    REQUIRE_EQ(hours.size(), 2);
    CHECK_EQ(*hours[0].rain_mm, doctest::Approx(0.4));
    CHECK_EQ(*hours[1].rain_mm, doctest::Approx(1.2 + 0.2));
}

TEST_CASE("rain of a gap counts in the hour that tells it, unless the gap is too long") {
    for (const int gap_h : {3, 9}) {
        Gather gather;
        for (int m = 0; m <= 60; m += 5) {
            Sample s = sample(m, 15);
            s.rain_counter_mm = 1;
            gather.take(s);
        }
        for (int m = 60 * (gap_h + 1); m <= 60 * (gap_h + 2); m += 5) {
            Sample s = sample(m, 15);
            s.rain_counter_mm = 4;
            gather.take(s);
        }
        const auto hours = gather.finished(kTen + minutes{60 * (gap_h + 3)});
        double rain_mm = 0;
        for (const Reading& hour : hours)
            rain_mm += hour.rain_mm.value_or(0);
        CHECK_EQ(rain_mm, doctest::Approx(gap_h == 3 ? 3 : 0));
    }
}

TEST_CASE("rain of the last hour, where that is all a station tells") {
    Gather gather;
    for (int m = 5; m <= 60; m += 5) {
        Sample s = sample(m, 15);
        s.rain_last_hour_mm = m / 10.0;
        gather.take(s);
    }
    const auto hours = gather.finished(kTen + minutes{62});
    REQUIRE_EQ(hours.size(), 1);
    CHECK_EQ(*hours[0].rain_mm, doctest::Approx(6));
}

TEST_CASE("samples out of order and numbers that are none do no harm") {
    Gather gather;
    for (int m = 0; m <= 60; m += 5)
        gather.take(sample(m, 20));
    gather.take(sample(20, 60));
    gather.take(sample(65, std::nan("")));
    const auto hours = gather.finished(kTen + minutes{70});
    REQUIRE_EQ(hours.size(), 1);
    CHECK_EQ(*hours[0].air_temp_c, doctest::Approx(20));
    // A clock that leaps ahead by years leaves nothing behind.
    gather.take(sample(60 * 24 * 400, 20));
    CHECK_LE(gather.finished(kTen + std::chrono::days{500}).size(), 2);
}
