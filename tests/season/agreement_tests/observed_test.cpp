// Reading of what was measured, and the figures of agreement.
#include "compare/observed.hpp"

#include <cmath>
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::compare;

TEST_CASE("columns are known by their names, depths and units") {
    const auto seen = read_observed("time,soil_moist_5cm,soil_temp_5cm_c,latent_heat_w_m2,sky\r\n"
                                    "2026-08-01T00:00:00Z,0.2,18.5,245,9\r\n"
                                    "2026-08-01T01:00:00Z,,19,-,9\r\n",
                                    TimeZone());
    REQUIRE(seen.size() == 3);
    CHECK(seen[0].quantity == Quantity::moisture);
    CHECK(seen[0].depth_mm == 50);
    CHECK(seen[0].values.size() == 1);
    CHECK(seen[1].quantity == Quantity::soil_temp);
    CHECK(seen[1].values.size() == 2);
    CHECK(seen[2].quantity == Quantity::evapotranspiration);
    // 245 W/m2 for an hour are 0.882 MJ/m2, 0.36 kg of water.
    CHECK(seen[2].values.at(0).second == doctest::Approx(0.36));
}

TEST_CASE("days are those of the site") {
    const TimeZone local("site", {{WallTime{}, Seconds{-5 * 3600}, "site"}});
    const auto seen = read_observed("date_local,E1_vwc_pct_7.5cm\n2026-08-01,8.5\n", local);
    REQUIRE(seen.size() == 1);
    CHECK(seen[0].depth_mm == 75);
    CHECK(seen[0].span == Seconds{86400});
    CHECK(seen[0].values.at(0).first == *parse_iso8601("2026-08-01T05:00:00Z"));
    CHECK(seen[0].values.at(0).second == doctest::Approx(0.085));
    CHECK(read_observed("hour,soil_moist_5cm\n1,0.2\n", local).empty());
}

TEST_CASE("agreement: correlation, bias and error of known pairs") {
    // Twice the observed and one more: fully correlated.
    const Agreement line = agreement({{1, 3}, {2, 5}, {3, 7}});
    CHECK(line.correlation == doctest::Approx(1));
    CHECK(line.bias == doctest::Approx(3));
    CHECK(line.rmse == doctest::Approx(std::sqrt((4 + 9 + 16) / 3.0)));
    CHECK(line.unbiased_rmse == doctest::Approx(std::sqrt(2 / 3.0)));
    CHECK(agreement({{1, 1}, {1, 2}}).correlation == 0);
    CHECK(agreement({}).count == 0);
}
