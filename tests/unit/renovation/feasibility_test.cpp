#include "rig.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

Feasibility tried(const garden::Garden& garden) {
    const auto found = feasibility(garden, TimeZone(), climate_of(garden.site.place, {}));
    REQUIRE(found.has_value());
    return *found;
}

// On the meridian, so that UTC is the sun's time.
garden::Garden by_day(std::vector<garden::Zone> zones) {
    garden::Garden garden = garden_of(std::move(zones));
    garden.site.place.longitude_deg = 0;
    return garden;
}

} // namespace

TEST_CASE("a design day of 34 C at 42 degrees north asks for what hot dry days ask for") {
    const Feasibility f = tried(by_day({zone_of(turf::Method::seed, day(2026, 8, 22))}));
    CHECK_EQ(f.design_heat_c, 34);
    // Greeley, July, 32-36 deg C: 5.7-7.5 mm a day and up to 0.79 mm in an hour (ASCE-EWRI 2005,
    // appendix C); late August has less sun.
    CHECK_GE(f.eto_mm_per_day, 5);
    CHECK_LE(f.eto_mm_per_day, 7.5);
    CHECK_GE(f.eto_peak_mm_per_h, 0.55);
    CHECK_LE(f.eto_peak_mm_per_h, 0.8);
}

TEST_CASE("one rotor zone on a good tap holds, with about three runs of 15 to 30 minutes a day") {
    // Common practice, no source: three runs of 15-30 min for a bare seedbed at rotor rates.
    const Feasibility f = tried(by_day({zone_of(turf::Method::seed, day(2026, 8, 22))}));
    CHECK(f.as_is.holds());
    CHECK(f.remedies.empty());
    const ZoneStrain& zone = f.as_is.zones[0];
    CHECK_GE(zone.runs_per_day, 2);
    CHECK_LE(zone.runs_per_day, 5);
    CHECK_GE(zone.minutes_per_day / zone.runs_per_day, 10);
    CHECK_LE(zone.minutes_per_day / zone.runs_per_day, 30);
    CHECK_EQ(zone.litres_per_day, doctest::Approx(zone.gross_mm_per_day * 100));
    CHECK_LT(f.tap_use, 0.5);
}

TEST_CASE("hours that leave out the afternoon fail, and longer hours are what helps") {
    garden::Garden garden = by_day({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.supply.hours = {{4 * 3600, 6 * 3600}};
    const Feasibility f = tried(garden);
    CHECK_FALSE(f.as_is.holds());
    bool longer_hours = false;
    for (const Remedy& remedy : f.remedies) {
        CHECK_LE(remedy.trial.worst_dry_minutes(), f.as_is.worst_dry_minutes());
        longer_hours = longer_hours || (remedy.what.find("hours from") != std::string::npos &&
                                        remedy.trial.holds());
    }
    CHECK(longer_hours);
}

TEST_CASE("every second day is not enough for a seedbed at the design heat") {
    garden::Garden garden = by_day({zone_of(turf::Method::seed, day(2026, 8, 22))});
    garden.supply.days = {true, false, true, false, true, false, false};
    CHECK_FALSE(tried(garden).as_is.holds());
}

TEST_CASE("too many beds on one tap: fewer at once helps") {
    std::vector<garden::Zone> zones;
    for (int i = 0; i < 16; ++i) {
        zones.push_back(zone_of(turf::Method::seed, day(2026, 8, 22)));
        zones.back().id = "bed-" + std::to_string(i);
        zones.back().area_m2 = 170; // 34 L/min each: one at a time
    }
    const Feasibility f = tried(by_day(std::move(zones)));
    CHECK_FALSE(f.as_is.holds());
    CHECK_GT(f.tap_use, 0.7);
    bool fewer = false;
    for (const Remedy& remedy : f.remedies)
        fewer =
            fewer || (remedy.what.find("one zone") != std::string::npos && remedy.trial.holds());
    CHECK(fewer);
}

TEST_CASE("hotter is never easier, straw never harder") {
    garden::Garden garden = by_day({zone_of(turf::Method::seed, day(2026, 8, 22))});
    double before = 0;
    for (const double heat : {22.0, 28.0, 34.0, 40.0}) {
        garden.renovation.design_heat_c = heat;
        const double litres = tried(garden).as_is.zones[0].litres_per_day;
        CHECK_GE(litres, before);
        before = litres;
    }
    garden.zones[0].establishment.cover = turf::Cover::straw;
    CHECK_LE(tried(garden).as_is.zones[0].litres_per_day, before);
}
