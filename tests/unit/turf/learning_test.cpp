// What reports teach about a lot of seed.
#include "turf/establishment.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace firstmow;
using namespace firstmow::turf;

namespace {

constexpr Seconds kHour{3600};
constexpr Seconds kDay{86400};
const WallTime kStart = wall_from_unix(1'787'000'400);
const std::vector<MixShare> kRye{{Species::perennial_ryegrass, 1}};
const std::vector<MixShare> kMix{{Species::kentucky_bluegrass, 0.6},
                                 {Species::perennial_ryegrass, 0.4}};

struct Lawn {
    Progress progress;
    WallTime now = kStart;
    explicit Lawn(const std::vector<MixShare>& mix) : progress(begin(Method::seed, mix, kStart)) {}
    void pass(Seconds span, double temp_c = 20) {
        for (const WallTime end = now + span; now < end;) {
            now += kHour;
            advance(progress, temp_c, 0, kHour, now);
        }
    }
    void report(ObservationKind kind) { observe(progress, kind, now); }
    const SpeciesProgress& of(std::size_t i) const { return progress.species[i]; }
};

double sum(const LotBelief& belief) {
    double total = 0;
    for (const double weight : belief)
        total += weight;
    return total;
}

// From the low to the high end of 80 % of the belief, logarithm.
double width(const SpeciesProgress& species) {
    return std::log(slowness_quantile(species.belief, 0.9) /
                    slowness_quantile(species.belief, 0.1));
}

double slowness_after_seedlings_on(int day) {
    Lawn lawn(kRye);
    lawn.pass(kDay * day);
    lawn.report(ObservationKind::seedlings_seen);
    REQUIRE(lawn.progress.seedlings_seen.has_value());
    return lawn.of(0).slowness;
}

} // namespace

TEST_CASE("a belief is a distribution around the book, and its quantiles are in order") {
    for (const double uncertainty : {0.1, 0.2, 0.3}) {
        const LotBelief belief = prior_belief(uncertainty);
        CHECK_EQ(sum(belief), doctest::Approx(1));
        CHECK_EQ(mean_slowness(belief), doctest::Approx(1));
        CHECK_EQ(slowness_quantile(belief, 0.5), doctest::Approx(1).epsilon(0.01));
        double before = 0;
        for (double p = 0.02; p < 1; p += 0.02) {
            const double slowness = slowness_quantile(belief, p);
            CHECK(slowness > before);
            before = slowness;
        }
        // Nine in ten of a normal distribution lie within 1.2816 of its deviations.
        CHECK_EQ(std::log(slowness_quantile(belief, 0.9)),
                 doctest::Approx(1.2816 * uncertainty).epsilon(0.12));
    }
}

TEST_CASE("Bayes by hand: a likelihood that halves one side leaves two thirds on the other") {
    LotBelief belief = prior_belief(0.2);
    LotBelief likelihood{};
    double low = 0;
    for (std::size_t i = 0; i < kSpeeds; ++i) {
        likelihood[i] = i < kSpeeds / 2 ? 0.5 : 1.0;
        if (i < kSpeeds / 2) low += belief[i];
    }
    REQUIRE(update_belief(belief, likelihood));
    double after = 0;
    for (std::size_t i = 0; i < kSpeeds / 2; ++i)
        after += belief[i];
    CHECK_EQ(after, doctest::Approx(0.5 * low / (0.5 * low + 1 - low)));
    CHECK_EQ(sum(belief), doctest::Approx(1));
    const LotBelief kept = belief;
    CHECK_FALSE(update_belief(belief, LotBelief{}));
    CHECK(belief == kept);
}

TEST_CASE("green that comes early, as the book says, or late makes the lot so") {
    // By the book the first of this ryegrass show on day 6.6 in wet soil of 20 deg C.
    double before = 0;
    for (const int day : {3, 4, 5, 6, 7, 8, 9, 10}) {
        const double slowness = slowness_after_seedlings_on(day);
        CAPTURE(day);
        CHECK(slowness > before);
        before = slowness;
    }
    CHECK_EQ(slowness_after_seedlings_on(6), doctest::Approx(1).epsilon(0.08));
    CHECK(slowness_after_seedlings_on(4) < 0.8);
    CHECK(slowness_after_seedlings_on(9) > 1.05); // or the report came late
}

TEST_CASE("a report narrows the belief, and nothing yet moves it later") {
    Lawn lawn(kRye);
    lawn.pass(kDay * 3);
    const double prior = width(lawn.of(0));
    lawn.report(ObservationKind::nothing_yet); // on day 3 that is no news
    CHECK_EQ(lawn.of(0).slowness, doctest::Approx(1).epsilon(0.01));
    double slowness = lawn.of(0).slowness;
    for (int day = 4; day <= 9; ++day) {
        lawn.pass(kDay);
        lawn.report(ObservationKind::nothing_yet);
        CHECK(lawn.of(0).slowness > slowness);
        slowness = lawn.of(0).slowness;
    }
    CHECK(slowness > 1.25);
    CHECK(slowness < 1.6);
    lawn.pass(kDay);
    lawn.report(ObservationKind::seedlings_seen);
    CHECK(width(lawn.of(0)) < 0.6 * prior);
    CHECK(lawn.of(0).slowness > 1.25);
    CHECK_EQ(sum(lawn.of(0).belief), doctest::Approx(1));
}

TEST_CASE("the ryegrass teaches nothing about the bluegrass, and never ends its damp phase") {
    for (const int day : {4, 6, 8}) {
        Lawn told(kMix);
        Lawn silent(kMix);
        told.pass(kDay * day);
        silent.pass(kDay * day);
        told.report(ObservationKind::seedlings_seen);
        CHECK(told.of(0) == silent.of(0));
        CHECK(told.progress.phase == silent.progress.phase);
        while (!silent.progress.all_up) {
            silent.pass(kHour);
            told.pass(kHour);
            REQUIRE(told.progress.all_up == silent.progress.all_up);
            if (!told.progress.all_up)
                REQUIRE(needs(told.progress, told.now).threshold_kpa == -100);
        }
    }
}

TEST_CASE("what is not up keeps the zone damp: nothing yet delays all up, early green hastens it") {
    const auto all_up_after = [](int day, ObservationKind kind) {
        Lawn lawn({{Species::kentucky_bluegrass, 1}});
        lawn.pass(kDay * day);
        lawn.report(kind);
        while (!lawn.progress.all_up)
            lawn.pass(kHour);
        return lawn.now - kStart;
    };
    const auto silent = all_up_after(1, ObservationKind::nothing_yet);
    CHECK(all_up_after(13, ObservationKind::nothing_yet) > silent + kDay);
    CHECK(all_up_after(9, ObservationKind::seedlings_seen) < silent - kDay);
}

TEST_CASE("two lots of one kind share the news, whatever their order") {
    Lawn one(kMix);
    Lawn other({{Species::perennial_ryegrass, 0.4}, {Species::kentucky_bluegrass, 0.6}});
    for (Lawn* lawn : {&one, &other}) {
        lawn->pass(kDay * 5);
        lawn->report(ObservationKind::seedlings_seen);
    }
    CHECK_EQ(one.of(1).slowness, doctest::Approx(other.of(0).slowness));
    CHECK_EQ(one.of(0).slowness, other.of(1).slowness);
}
