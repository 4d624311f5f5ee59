// The estimator of a zone's own factors, by itself.
#include "watering/estimate.hpp"

#include <cmath>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using garden::RateSource;

namespace {

double variance(const Estimate& e, Unknown u) {
    return e.covariance[at(u) * kUnknowns + at(u)];
}

Prediction of(Unknown unknown, double value, double slope = 1) {
    Prediction p;
    p.value = value;
    p.slope[at(unknown)] = slope;
    return p;
}

} // namespace

TEST_CASE("estimate: nothing seen, nothing changed") {
    const Estimate e = prior(RateSource::given);
    CHECK(factors(e) == Factors{});
    CHECK(with_reading(e, Prediction{}, 5, 0.1, 1) == e);
    CHECK(with_reading(e, of(Unknown::rate, 0), 1, 0.1, 0) == e);
    CHECK(with_report_above(e, of(Unknown::rate, 0), 1, 0.1, 0) == e);
}

TEST_CASE("estimate: a reading of one factor is the precision-weighted mean") {
    // Normal prior N(0, s2) and reading y of variance R: mean y s2 / (s2 + R), variance
    // s2 R / (s2 + R) (any textbook of statistics, for example Gelman and others 2013, eq. 2.10).
    const Estimate e = prior(RateSource::given);
    const double s2 = variance(e, Unknown::rate);
    const Estimate after = with_reading(e, of(Unknown::rate, 0), 0.2, 0.1, 1);
    CHECK(after.mean[at(Unknown::rate)] == doctest::Approx(0.2 * s2 / (s2 + 0.01)));
    CHECK(variance(after, Unknown::rate) == doctest::Approx(s2 * 0.01 / (s2 + 0.01)));
    CHECK(after.mean[at(Unknown::evaporation)] == 0);
}

TEST_CASE("estimate: readings count the same in whatever order they come") {
    const auto seen = [](const Estimate& e, double y, double sd, double mixed) {
        Prediction p;
        p.slope[at(Unknown::rate)] = 1;
        p.slope[at(Unknown::evaporation)] = mixed;
        p.value = e.mean[at(Unknown::rate)] + mixed * e.mean[at(Unknown::evaporation)];
        return with_reading(e, p, y, sd, 1);
    };
    const Estimate e = prior(RateSource::flow);
    const Estimate one = seen(seen(seen(e, 0.1, 0.1, 0), -0.2, 0.2, -1), 0.05, 0.3, 2);
    const Estimate two = seen(seen(seen(e, 0.05, 0.3, 2), 0.1, 0.1, 0), -0.2, 0.2, -1);
    for (std::size_t i = 0; i < kUnknowns; ++i) {
        CHECK(one.mean[i] == doctest::Approx(two.mean[i]));
        for (std::size_t j = 0; j < kUnknowns; ++j)
            CHECK(one.covariance[i * kUnknowns + j] ==
                  doctest::Approx(two.covariance[i * kUnknowns + j]));
    }
}

TEST_CASE("estimate: a report moves by the closed moments of a normal under a probit") {
    // Against plain numerical integration over the predicted quantity, slips included.
    const Estimate e = prior(RateSource::given);
    const Unknown u = Unknown::evaporation;
    const double s2 = variance(e, u);
    for (const double value : {-0.6, -0.2, 0.0, 0.3}) {
        const Estimate after = with_report_above(e, of(u, value), 0, 0.1, 1);
        double sum = 0;
        double first = 0;
        for (int i = -4000; i <= 4000; ++i) {
            const double x = i * 1e-3 * std::sqrt(s2) * 2; // of the unknown, 8 deviations
            const double density = std::exp(-x * x / (2 * s2));
            const double likely = 0.05 + 0.9 * 0.5 * std::erfc(-(value + x) / 0.1 / std::sqrt(2.0));
            sum += density * likely;
            first += density * likely * x;
        }
        CHECK(after.mean[at(u)] == doctest::Approx(first / sum).epsilon(0.001));
    }
}

TEST_CASE("estimate: what was known teaches nothing, what is impossible hardly anything") {
    const Estimate e = prior(RateSource::given);
    const Unknown u = Unknown::evaporation;
    const auto moved = [&](double value) {
        return with_report_above(e, of(u, value), 0, 0.1, 1).mean[at(u)];
    };
    CHECK(moved(2.0) < 1e-6);
    CHECK(moved(-0.2) > 0.1);
    CHECK(moved(-2.0) < 0.01);
    // Never does a report that something is more make it less.
    for (double value = -3; value < 3; value += 0.05)
        CHECK(moved(value) >= 0);
}

TEST_CASE("estimate: ten clicks within an hour tell little more than one") {
    const auto value_of = [](const Estimate& e) { return -0.3 + e.mean[at(Unknown::evaporation)]; };
    Estimate one = prior(RateSource::given);
    one = with_report_above(one, of(Unknown::evaporation, value_of(one)), 0, 0.2,
                            report_weight(std::nullopt));
    Estimate ten = one;
    for (int i = 0; i < 9; ++i)
        ten = with_report_above(ten, of(Unknown::evaporation, value_of(ten)), 0, 0.2,
                                report_weight(Seconds{360}));
    CHECK(factors(ten).evaporation > factors(one).evaporation);
    CHECK(factors(ten).evaporation - 1 < (factors(one).evaporation - 1) * 1.05);
    CHECK(report_weight(Seconds{0}) == 0);
    CHECK(report_weight(Seconds{-5}) == 0);
    CHECK(report_weight(Seconds{30 * 86400}) == doctest::Approx(1));
}

TEST_CASE("estimate: no factor leaves its bounds, however often it is pushed") {
    for (const Unknown u :
         {Unknown::evaporation, Unknown::rate, Unknown::uniformity, Unknown::intake})
        for (const double way : {-1.0, 1.0}) {
            Estimate e = prior(RateSource::heads);
            for (int i = 0; i < 300; ++i) {
                e = with_reading(e, of(u, e.mean[at(u)]), 3 * way, 0.2, 1);
                const double value = std::exp(e.mean[at(u)]);
                REQUIRE(value >= bounds(u).low * (1 - 1e-12));
                REQUIRE(value <= bounds(u).high * (1 + 1e-12));
                REQUIRE(variance(e, u) > 0);
            }
            CHECK(std::exp(e.mean[at(u)]) ==
                  doctest::Approx(way > 0 ? bounds(u).high : bounds(u).low));
        }
}

TEST_CASE("estimate: an instrument that always errs to one side is found out") {
    // The garden is as the model says, the probe reads 0.05 too much: its offset takes that.
    Estimate e = prior(RateSource::given);
    for (int day = 0; day < 60; ++day) {
        Prediction p;
        p.slope[at(Unknown::evaporation)] = -0.1;
        p.slope[at(Unknown::probe_offset)] = 1;
        p.value = 0.25 - 0.1 * e.mean[at(Unknown::evaporation)] + e.mean[at(Unknown::probe_offset)];
        e = with_reading(e, p, 0.30, 0.03, 1);
    }
    CHECK(e.mean[at(Unknown::probe_offset)] > 0.03);
    CHECK(factors(e).evaporation == doctest::Approx(1).epsilon(0.15));
}

TEST_CASE("estimate: forgetting one unknown leaves the others") {
    Estimate e = prior(RateSource::given);
    Prediction p;
    p.slope[at(Unknown::rate)] = 1;
    p.slope[at(Unknown::evaporation)] = -1;
    e = with_reading(e, p, 0.3, 0.1, 1);
    const Estimate without = forget(e, Unknown::rate, prior(RateSource::cans));
    CHECK(factors(without).rate == 1);
    CHECK(factors(without).evaporation == factors(e).evaporation);
    CHECK(variance(without, Unknown::rate) == variance(prior(RateSource::cans), Unknown::rate));
}
