#include "watering/exposure.hpp"

#include "base/random.hpp"
#include "trial_garden.hpp"
#include "watering/outlook.hpp"

#include <cmath>
#include <numbers>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;

namespace {

constexpr double kHourAngle = std::numbers::pi / 12;

garden::Zone with_sun(std::optional<double> hours) {
    garden::Zone zone = trial::seed_zone("z");
    zone.direct_sun_h = hours;
    return zone;
}

double sun_hours_of(const Exposure& exposure) {
    double sum = 0;
    for (int h = 0; h < 24; ++h)
        sum += sunlit_share(exposure, (h + 0.5 - 12) * kHourAngle);
    return sum;
}

// A zone under two clear days: what its bare wet soil was asked for, and how warm it became.
struct Days {
    double asked_mm = 0;
    double warmest_c = -99;
    double left_mm = 0;
    double hours_to_dry = 0;
};
Days two_days(const garden::Zone& zone, const std::vector<HourDemand>& hours) {
    const ZoneSpec spec = zone_spec(zone);
    garden::Zone damp = zone;
    damp.soil_below_kpa = -20;
    ZoneState state = initial_state(damp, spec, 22, trial::local(0, 0));
    Days days;
    for (const HourDemand& hour : hours)
        for (Seconds at = kGrid; at <= Seconds{3600}; at += kGrid) {
            const CoverDemand d = cover_demand(hour, cover_of(spec, state.progress));
            days.asked_mm += (d.evaporation_mm_per_h + d.transpiration_mm_per_h) / 12;
            advance(spec, state, hour, 0, kGrid, hour.start + at);
            days.warmest_c = std::max(days.warmest_c, soil::seed_temp_c(spec.column, state.heat));
            if (soil::seed_zone_kpa(spec.column, state.low) > -100) days.hours_to_dry += 1.0 / 12;
        }
    days.left_mm = soil::storage_mm(spec.column, state.mean);
    return days;
}

} // namespace

TEST_CASE("exposure: full sun, hours a day, hours of the clock") {
    const Exposure full = exposure_of(with_sun(std::nullopt), Seconds{0});
    CHECK(sun_hours_of(full) == 24);
    CHECK(sun_hours_of(exposure_of(with_sun(5), Seconds{0})) == doctest::Approx(5));
    CHECK(sun_hours_of(exposure_of(with_sun(0), Seconds{0})) == 0);

    garden::Zone morning = with_sun(std::nullopt);
    morning.sun_hours = {{7 * 3600, 10 * 3600 + 1800}, {17 * 3600, 18 * 3600}};
    // The garden's clock shows 12:00 exactly when the mean sun stands highest: 90 W, UTC - 6 h.
    const Seconds ahead = solar_ahead(trial::place(), trial::local_zone(), morning);
    CHECK(ahead.count() == 0);
    const Exposure seen = exposure_of(morning, ahead);
    CHECK(sun_hours_of(seen) == doctest::Approx(4.5));
    CHECK(sunlit_share(seen, (7.5 - 12) * kHourAngle) == doctest::Approx(1));
    CHECK(sunlit_share(seen, (10.5 - 12) * kHourAngle) == doctest::Approx(0.5));
    CHECK(sunlit_share(seen, (13.5 - 12) * kHourAngle) == 0);
}

TEST_CASE("exposure: clock hours follow the clock of the season of sowing") {
    // Summer time from the end of March: an hour ahead of the mean sun at the meridian.
    using namespace std::chrono;
    const TimeZone zone("x", {{WallTime{}, Seconds{0}, "s"},
                              {WallTime{sys_days{2026y / 3 / 29}}, Seconds{3600}, "d"},
                              {WallTime{sys_days{2026y / 10 / 25}}, Seconds{0}, "s"}});
    garden::Zone bed = with_sun(std::nullopt);
    const weather::Place here{50, 10, 0};
    bed.establishment.start = 2026y / 8 / 10;
    CHECK(solar_ahead(here, zone, bed).count() == 2400 - 3600);
    bed.establishment.start = 2026y / 2 / 10;
    CHECK(solar_ahead(here, zone, bed).count() == 2400);
    bed.establishment.start.reset();
    CHECK(solar_ahead(here, zone, bed).count() == 2400 - 3600);
}

TEST_CASE("exposure: more shade is never thirstier, nor warmer, nor sooner dry") {
    Random random(3);
    for (int trial = 0; trial < 6; ++trial) {
        const trial::Air air{14 + 14 * random.uniform(), 3 + 6 * random.uniform(),
                             4 + 8 * random.uniform(), 0.5 + 4 * random.uniform()};
        auto weather = trial::clear_hours(trial::local(0, 0), 48, air);
        for (weather::Hour& hour : weather)
            hour.solar_w_m2 *= 0.3 + 0.7 * random.uniform();
        const auto hours = trial::demands(weather);
        Days before = two_days(with_sun(std::nullopt), hours);
        CHECK(before.asked_mm > 1);
        for (const double sun : {24.0, 9.0, 6.0, 4.5, 3.0, 1.5, 0.0}) {
            const Days now = two_days(with_sun(sun), hours);
            CHECK(now.asked_mm <= before.asked_mm + 1e-12);
            CHECK(now.left_mm >= before.left_mm - 1e-9);
            CHECK(now.warmest_c <= before.warmest_c + 1e-9);
            CHECK(now.hours_to_dry >= before.hours_to_dry - 1e-9);
            before = now;
        }
    }
    // Without the sun itself a clear day asks for a good deal less.
    const auto clear = trial::demands(trial::clear_hours(trial::local(0, 0), 48));
    CHECK(two_days(with_sun(0), clear).asked_mm <
          0.7 * two_days(with_sun(std::nullopt), clear).asked_mm);
}

TEST_CASE("exposure: any hour that the sun reaches more is asked for at least as much") {
    Random random(11);
    for (int i = 0; i < 2000; ++i) {
        weather::Hour hour =
            trial::clear_hour(trial::local(i % 100, static_cast<int>(random.uniform() * 24)),
                              {5 + 25 * random.uniform(), 5, 2, 4 * random.uniform()});
        hour.solar_w_m2 *= random.uniform();
        weather::CloudMemory clouds;
        const HourDemand demand = hour_demand(trial::place(), hour, clouds);
        CHECK(demand.direct_et_mm_per_h >= 0);
        double least = std::min(demand.et_short_mm_per_h, 0.0);
        for (double sun = 0; sun <= 24; sun += 2) {
            const Exposure exposure = exposure_of(with_sun(sun), Seconds{0});
            const double et = zone_et_mm_per_h(demand, &exposure);
            CHECK(et >= least - 1e-12);
            least = et;
        }
        CHECK(demand.et_short_mm_per_h == doctest::Approx(least));
    }
}
