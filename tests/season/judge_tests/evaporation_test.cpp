// The judge drying: what the soil gives, the humidity of the air, vapour.
#include "judge/richards.hpp"
#include "judge/vapour.hpp"

#include <cmath>
#include <doctest/doctest.h>

using namespace firstmow::judge;

namespace {

// The loam of Saxton and Rawls 2006, Table 3.
const SaxtonRawls& loam() {
    static const SaxtonRawls soil({.459, 15.5, 3, .03605, 5.351});
    return soil;
}

Surface dry_wind() {
    Surface surface;
    surface.demand_mm_s = 0.6 / 3600;
    surface.temp_c = 25;
    surface.air_vapour_kpa = 1.2;
    return surface;
}

struct Drying {
    double evaporated_mm;
    double hours_to_100_kpa;
};
Drying dry_out(const Grid& grid, bool vapour, double largest_change) {
    Settings settings;
    settings.vapour = vapour;
    settings.largest_change = largest_change;
    Profile profile(loam(), grid, settings);
    profile.fill(-33 * kMmPerKpa, 25);
    Drying drying{0, 0};
    for (int minute = 0; minute < 48 * 60; minute += 5) {
        drying.evaporated_mm += profile.advance(dry_wind(), 300).evaporation;
        if (drying.hours_to_100_kpa <= 0 && profile.mean_kpa(6) < -100)
            drying.hours_to_100_kpa = (minute + 5) / 60.0;
    }
    return drying;
}

} // namespace

TEST_CASE("what a drying soil loses goes with the square root of time") {
    // Gardner 1959, Soil Sci. Soc. Am. Proc. 23:183-187: in the falling-rate stage cumulative
    // evaporation from a deep soil grows with sqrt(t); Ritchie 1972 uses the same.
    Settings settings;
    settings.bottom = Bottom::closed;
    Profile profile(loam(), make_grid(1000, 0.25, 10, 10, 1.1), settings);
    profile.fill(-33 * kMmPerKpa, 25);
    Surface surface = dry_wind();
    surface.demand_mm_s *= 20; // at its limit almost at once
    double total = 0, at_one = 0, at_four = 0;
    for (int hour = 1; hour <= 9 * 24; ++hour) {
        total += profile.advance(surface, 3600).evaporation;
        if (hour == 24) at_one = total;
        if (hour == 4 * 24) at_four = total;
    }
    MESSAGE("evaporated after 1, 4, 9 days: ", at_one, " ", at_four, " ", total);
    CHECK(at_four / at_one == doctest::Approx(2).epsilon(0.06));
    CHECK(total / at_one == doctest::Approx(3).epsilon(0.09));
}

TEST_CASE("halving the grid and the step changes a drying bed little") {
    const Grid grid = make_grid(300, 0.5, 15, 8, 1.12);
    const Drying usual = dry_out(grid, true, 0.01);
    const Drying finer = dry_out(halved(grid), true, 0.01);
    const Drying shorter = dry_out(grid, true, 0.0025);
    MESSAGE("evaporated ", usual.evaporated_mm, " ", finer.evaporated_mm, " ",
            shorter.evaporated_mm, ", hours ", usual.hours_to_100_kpa, " ", finer.hours_to_100_kpa,
            " ", shorter.hours_to_100_kpa);
    CHECK(usual.evaporated_mm == doctest::Approx(finer.evaporated_mm).epsilon(0.003));
    CHECK(usual.evaporated_mm == doctest::Approx(shorter.evaporated_mm).epsilon(0.003));
    CHECK(std::abs(usual.hours_to_100_kpa - finer.hours_to_100_kpa) < 0.2);
}

TEST_CASE("steady vapour through dry soil is Fick's") {
    // Air-dry all through: hardly any liquid; head fixed at both ends, constant diffusivity to
    // within the little that theta varies.
    const double top = air_dry_head_mm(1.0, 25), below = air_dry_head_mm(1.3, 25);
    Settings settings;
    settings.bottom = Bottom::fixed_head;
    settings.bottom_head_mm = below;
    const SaxtonRawls sand({.462, 108.1, 1, 1.808e-4, 5.326});
    Profile profile(sand, make_grid(20, 0.5, 20, 0.5, 1), settings);
    profile.fill(below, 25);
    Surface surface = dry_wind();
    surface.fixed_head_mm = top;
    for (int day = 0; day < 20; ++day)
        profile.advance(surface, 86400);
    const double upward = -profile.advance(surface, 3600).intake / 3600;
    const double air = sand.saturation() - sand.at((top + below) / 2).theta;
    const double diffusivity = free_air_diffusivity_mm2_s(25) * std::pow(air, 10.0 / 3) /
                               (sand.saturation() * sand.saturation());
    const double density = saturated_density_ratio(25) * 0.3 / saturation_kpa(25);
    CHECK(upward == doctest::Approx(diffusivity * density / 20).epsilon(0.02));
}

TEST_CASE("vapour carries water through the crust") {
    // A sand whose films conduct next to nothing (Carsel and Parrish 1988): without vapour its
    // crust seals it.
    const VanGenuchten sand({.045, .43, .0145, 2.68, 7128.0 / 86400});
    const auto lost = [&](bool vapour) {
        Settings settings;
        settings.vapour = vapour;
        Profile profile(sand, make_grid(300, 0.25, 15, 8, 1.12), settings);
        profile.fill(-5 * kMmPerKpa, 25);
        double total = 0;
        for (int hour = 0; hour < 10 * 24; ++hour)
            total += profile.advance(dry_wind(), 3600).evaporation;
        return total;
    };
    const double with = lost(true), without = lost(false);
    MESSAGE("ten days of sand, mm: ", with, " with vapour, ", without, " without");
    CHECK(with > 1.3 * without);
}

TEST_CASE("published numbers of moist air") {
    // FAO-56 Annex 2 Table 2.3.
    CHECK(saturation_kpa(25) == doctest::Approx(3.168).epsilon(0.001));
    // Saturated air at 20 deg C holds 17.3 g/m3 (handbook value, from memory).
    CHECK(saturated_density_ratio(20) == doctest::Approx(17.3e-6).epsilon(0.005));
    // At -1500 kPa pore air is still 98.9 % humid (Kelvin; Hillel 1998, from memory).
    CHECK(std::exp(kelvin_factor_per_mm(20) * -1500 * kMmPerKpa) ==
          doctest::Approx(0.989).epsilon(0.001));
}

TEST_CASE("a warm surface over cool soil sends vapour down as well as up") {
    // Equal water everywhere, warm on top: with the temperature profile the soil below gains.
    const auto below_after = [](bool thermal) {
        Settings settings;
        settings.thermal = thermal;
        settings.bottom = Bottom::closed;
        Profile profile(loam(), make_grid(100, 0.5, 15, 4, 1.12), settings);
        profile.fill(-3000 * kMmPerKpa, 15);
        Surface surface;
        surface.temp_c = 40;
        const double before = profile.storage_mm() - profile.mean_theta(5) * 5;
        for (int hour = 0; hour < 4; ++hour)
            profile.advance(surface, 3600);
        return profile.storage_mm() - profile.mean_theta(5) * 5 - before;
    };
    CHECK(below_after(true) > below_after(false) + 1e-4);
}
