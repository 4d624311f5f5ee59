#include "watering/forecast_record.hpp"

#include "base/random.hpp"

#undef CHECK
#include <doctest/doctest.h>

#include <algorithm>

using namespace firstmow;
using namespace firstmow::watering;

namespace {

constexpr Seconds kHour{3600};

// Days of hours whose ET came `factor` times as high as was thought, give or take `off` of it, all
// leads alike; rain of which `share` fell in its hour.
ForecastRecord record_of(double factor, double off, double share = 1, int days = 12,
                         Thought thought = Thought::forecast) {
    ForecastRecord record;
    for (int hour = 0; hour < days * 24; ++hour) {
        const WallTime start = wall_from_unix(1'800'000'000) + hour * kHour;
        const double said = hour % 24 >= 6 && hour % 24 < 18 ? 0.35 : 0.0;
        const double rain = hour % 24 == 15 ? 2.0 : 0.0;
        for (std::uint8_t lead = 0; lead < kLeads; ++lead)
            foretell(record, {start, lead, thought, said, rain});
        score(record, start, said * (factor + (hour % 2 == 0 ? off : -off)), rain * share);
    }
    return record;
}

} // namespace

TEST_CASE("forecast record: what is not known yet is the prior, worse the farther ahead") {
    const ForecastRecord none;
    double last = 0;
    for (const double lead_h : {-1.0, 0.0, 1.0, 4.0, 12.0, 30.0, 100.0}) {
        const Trust t = trust_of(none, Thought::forecast, lead_h);
        CHECK(t.et_factor == 1);
        CHECK(t.rain_share == doctest::Approx(kRainSharePrior));
        CHECK(t.et_doubt >= last);
        last = t.et_doubt;
    }
    CHECK(last > trust_of(none, Thought::forecast, 0).et_doubt);
    // What is assumed is worse than what is forecast.
    CHECK(trust_of(none, Thought::assumed, 6).et_doubt >
          trust_of(none, Thought::forecast, 6).et_doubt);
}

TEST_CASE("forecast record: a source that errs more is doubted more") {
    double last = 0;
    for (const double off : {0.0, 0.1, 0.2, 0.4, 0.8}) {
        const Trust t = trust_of(record_of(1, off), Thought::forecast, 6);
        CHECK(t.et_doubt > last);
        CHECK(t.et_doubt <= kMostDoubt);
        last = t.et_doubt;
    }
    // Within a fortnight the record weighs more than the prior.
    CHECK(trust_of(record_of(1, 0), Thought::forecast, 6).et_doubt < 0.05);
    CHECK(trust_of(record_of(1, 0.4), Thought::forecast, 6).et_doubt > 0.3);
}

TEST_CASE("forecast record: a bias is learned, within bounds, and is no doubt any more") {
    const Trust dry = trust_of(record_of(1.2, 0), Thought::forecast, 6);
    CHECK(dry.et_factor > 1.1);
    CHECK(dry.et_factor < 1.2);
    CHECK(dry.et_doubt < 0.12);
    CHECK(trust_of(record_of(3, 0), Thought::forecast, 6).et_factor == kMostFactor);
    CHECK(trust_of(record_of(0.1, 0, 1, 60), Thought::forecast, 6).et_factor == kLeastFactor);
    // Kinds are scored apart.
    CHECK(trust_of(record_of(1.2, 0), Thought::assumed, 6).et_factor == 1);
    CHECK(trust_of(record_of(0.7, 0, 1, 12, Thought::assumed), Thought::assumed, 6).et_factor <
          0.85);
}

TEST_CASE("forecast record: rain that comes as it was said is counted on, other rain is not") {
    double last = 2;
    for (const double share : {1.0, 0.7, 0.3, 0.0}) {
        const double now = trust_of(record_of(1, 0, share), Thought::forecast, 6).rain_share;
        CHECK(now < last);
        last = now;
    }
    CHECK(trust_of(record_of(1, 0, 1), Thought::forecast, 6).rain_share > 0.8);
    CHECK(last < 0.35);
    // More than was said is no reason to count on more.
    CHECK(trust_of(record_of(1, 0, 5), Thought::forecast, 6).rain_share <= 1);
}

TEST_CASE("forecast record: hours that nobody measured teach nothing and do not pile up") {
    ForecastRecord record;
    const WallTime start = wall_from_unix(1'800'000'000);
    for (int hour = 0; hour < 500; ++hour) {
        for (std::uint8_t lead = 0; lead < kLeads; ++lead)
            foretell(record,
                     {start + (hour + kLeadHours[lead]) * kHour, lead, Thought::forecast, 0.4, 1});
        if (hour % 50 != 0) score(record, start + hour * kHour, std::nullopt, std::nullopt);
        CHECK(record.waiting.size() <= kMostForetold);
    }
    CHECK(record.scores == ForecastRecord{}.scores);
    // What is said twice waits once, as it was said last.
    ForecastRecord twice;
    foretell(twice, {start, 0, Thought::forecast, 0.4, 0});
    foretell(twice, {start, 0, Thought::assumed, 0.5, 0});
    REQUIRE(twice.waiting.size() == 1);
    CHECK(twice.waiting[0].thought == Thought::assumed);
}

TEST_CASE("forecast record: whatever happens the numbers stay within their bounds") {
    Random random(7);
    ForecastRecord record;
    for (int i = 0; i < 5000; ++i) {
        const WallTime start = wall_from_unix(1'800'000'000) + i * kHour;
        for (std::uint8_t lead = 0; lead < kLeads; ++lead)
            foretell(record,
                     {start, lead, random.uniform() < 0.5 ? Thought::forecast : Thought::assumed,
                      random.uniform(-0.1, 1.2), random.uniform(0, 30)});
        score(record, start, random.uniform(-0.2, 1.5), random.uniform(0, 60));
        for (const Thought thought : {Thought::forecast, Thought::assumed}) {
            const Trust t = trust_of(record, thought, random.uniform(-2, 60));
            const bool good = t.et_factor >= kLeastFactor && t.et_factor <= kMostFactor &&
                              t.et_doubt >= 0 && t.et_doubt <= kMostDoubt && t.rain_share >= 0 &&
                              t.rain_share <= 1;
            if (!good) FAIL("out of bounds");
        }
    }
}
