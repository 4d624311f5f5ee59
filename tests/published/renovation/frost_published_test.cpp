// Dates of first frost, against values worked by hand from the published methods.
#include "renovation/frost.hpp"

#include <doctest/doctest.h>

#include <vector>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

// Constructed: twelve first-freeze days of the year, mean 285.58, standard deviation 9.060.
const std::vector<double> kDays = {271, 275, 278, 280, 283, 284, 286, 288, 290, 293, 297, 302};

} // namespace

TEST_CASE("Weibull ranks p(n+1) give the hand-worked dates") {
    // Ranks 1.3, 6.5 and 11.7 of twelve; the plotting position of Weibull 1939.
    const FrostDays days = frost_days(kDays, 0, FrostMethod::weibull);
    CHECK_EQ(days.in_10_pct.value(), doctest::Approx(272.2));
    CHECK_EQ(days.in_50_pct.value(), doctest::Approx(285.0));
    CHECK_EQ(days.in_90_pct.value(), doctest::Approx(300.5));
}

TEST_CASE("the normal distribution gives mean and mean -+ 1.2816 s") {
    const FrostDays days = frost_days(kDays, 0, FrostMethod::normal);
    CHECK_EQ(days.in_10_pct.value(), doctest::Approx(273.97).epsilon(2e-5));
    CHECK_EQ(days.in_50_pct.value(), doctest::Approx(285.58).epsilon(2e-5));
    CHECK_EQ(days.in_90_pct.value(), doctest::Approx(297.19).epsilon(2e-5));
}

TEST_CASE("two-part: years without frost push the dates back, and some do not exist") {
    // NCEI's method: 10 of 12 years freeze, so p of all years is p / (10/12) of the freezing ones:
    // 0.10 -> 0.12, 0.50 -> 0.60, 0.90 -> 1.08, which is no probability.
    const std::vector<double> ten(kDays.begin(), kDays.begin() + 10);
    for (const FrostMethod method : {FrostMethod::weibull, FrostMethod::normal}) {
        const FrostDays days = frost_days(ten, 2, method);
        CHECK_EQ(days.in_10_pct.value(), doctest::Approx(frost_day(ten, 0, method, 0.12).value()));
        CHECK_EQ(days.in_50_pct.value(), doctest::Approx(frost_day(ten, 0, method, 0.60).value()));
        CHECK_FALSE(days.in_90_pct.has_value());
        CHECK_EQ(days.years, 12);
    }
    // Weibull by hand: 0.6 x 11 = rank 6.6 of 271 275 278 280 283 284 286 ...: 284 + 0.6 x 2.
    CHECK_EQ(frost_days(ten, 2, FrostMethod::weibull).in_50_pct.value(), doctest::Approx(285.2));
}
