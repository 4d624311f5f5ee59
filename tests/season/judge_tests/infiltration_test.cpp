// The judge against published and exact infiltration.
#include "judge/richards.hpp"

#include <cmath>
#include <doctest/doctest.h>

using namespace firstmow::judge;

namespace {

// The New Mexico soil of Celia, Bouloutas and Zarba 1990 (Water Resour. Res. 26:1483-1496), their
// first example: van Genuchten with thetas .368, thetar .102, alpha .0335 1/cm, n 2, Ks .00922
// cm/s.
const VanGenuchten& new_mexico() {
    static const VanGenuchten soil({.102, .368, .00335, 2, .0922});
    return soil;
}

Settings celia_settings() {
    Settings settings;
    settings.vapour = false;
    settings.bottom = Bottom::fixed_head;
    settings.bottom_head_mm = -10000;
    settings.largest_change = 0.005;
    return settings;
}

// A day with -75 cm at the surface of a metre of soil at -1000 cm.
struct CeliaDay {
    double intake_mm;
    double gain_mm;
    double drainage_mm;
    double front_mm; // depth at which the head passes -500 cm
};
CeliaDay celia_day(double spacing_mm) {
    Profile profile(new_mexico(), make_grid(1000, spacing_mm, 1000, spacing_mm, 1),
                    celia_settings());
    profile.fill(-10000);
    const double before = profile.storage_mm();
    Surface surface;
    surface.fixed_head_mm = -750;
    const Sums sums = profile.advance(surface, 86400);
    CeliaDay day{sums.intake, profile.storage_mm() - before, sums.drainage, 0};
    const auto& head = profile.heads_mm();
    for (std::size_t i = 1; i < head.size(); ++i) {
        if (head[i] > -5000 || head[i - 1] <= -5000) continue;
        const double part = (head[i - 1] + 5000) / (head[i - 1] - head[i]);
        const auto& z = profile.grid().depth_mm;
        day.front_mm = z[i - 1] + part * (z[i] - z[i - 1]);
    }
    return day;
}

} // namespace

TEST_CASE("a day of infiltration into the New Mexico soil") {
    const CeliaDay coarse = celia_day(5), fine = celia_day(2.5), finest = celia_day(1.25);
    MESSAGE("front ", coarse.front_mm, " ", fine.front_mm, " ", finest.front_mm, " intake ",
            coarse.intake_mm, " ", fine.intake_mm, " ", finest.intake_mm);
    // Celia et al. 1990: the foot of the dense-grid front stands at about 60 cm after 24 h (a
    // figure, from memory: 8 % for the reading and for -500 cm lying above the foot). Ours: 56.6
    // cm.
    CHECK(finest.front_mm == doctest::Approx(600).epsilon(0.08));
    // Halving the grid: the step from 2.5 to 1.25 mm is well below half of that from 5 to 2.5.
    CHECK(std::abs(finest.front_mm - fine.front_mm) <
          0.6 * std::abs(fine.front_mm - coarse.front_mm));
    CHECK(fine.intake_mm == doctest::Approx(finest.intake_mm).epsilon(0.003));
    // Mass.
    CHECK(fine.gain_mm + fine.drainage_mm == doctest::Approx(fine.intake_mm).epsilon(1e-6));
}

TEST_CASE("infiltration begins with the square root of time") {
    // Philip 1957, Soil Sci. 84:257-264: I = S sqrt(t) + A t, the second term small at first.
    Settings settings = celia_settings();
    Profile profile(new_mexico(), make_grid(300, 0.1, 10, 3, 1.05), settings);
    profile.fill(-10000);
    Surface surface;
    surface.fixed_head_mm = -10;
    const double first = profile.advance(surface, 10).intake;
    const double four_times = first + profile.advance(surface, 30).intake;
    CHECK(four_times / first == doctest::Approx(2).epsilon(0.06));
}

namespace {

// Gardner 1958: exponential in the head, which makes the steady equation linear.
class Gardner final : public Medium {
public:
    static constexpr double kAlpha = 0.01, kSaturated = 0.01, kResidual = 0.1, kRange = 0.3;
    Point at(double head_mm) const override {
        if (head_mm >= 0) return {kResidual + kRange, 0, kSaturated, 0};
        const double e = std::exp(kAlpha * head_mm);
        return {kResidual + kRange * e, kRange * kAlpha * e, kSaturated * e,
                kSaturated * kAlpha * e};
    }
    double head_mm(double theta) const override {
        return std::log((theta - kResidual) / kRange) / kAlpha;
    }
    double saturation() const override { return kResidual + kRange; }
};

} // namespace

TEST_CASE("steady rain above a water table: Gardner's exact profile") {
    // d/dz (dK/dz / alpha - K) = 0 with K = K0 at the table and flux q: K = q + (K0 - q) e^(-alpha
    // x), x the height above the table (Gardner 1958, Soil Sci. 85:228-232).
    const Gardner soil;
    Settings settings;
    settings.vapour = false;
    settings.bottom = Bottom::fixed_head;
    settings.bottom_head_mm = 0;
    Profile profile(soil, make_grid(500, 2, 500, 2, 1), settings);
    profile.fill(-300);
    Surface surface;
    surface.supply_mm_s = 0.003;
    profile.advance(surface, 20.0 * 86400);
    const auto& z = profile.grid().depth_mm;
    for (std::size_t i = 0; i < z.size(); i += 50) {
        const double k =
            0.003 + (Gardner::kSaturated - 0.003) * std::exp(-Gardner::kAlpha * (500 - z[i]));
        CHECK(profile.heads_mm()[i] ==
              doctest::Approx(std::log(k / Gardner::kSaturated) / Gardner::kAlpha).epsilon(0.002));
    }
}

TEST_CASE("transient rain on a Gardner soil: the exact solution") {
    // Warrick, Lomen and Islas 1990 / Srivastava and Yeh 1991: with theta and K both exponential
    // the equation is linear, the state is K itself. Deep soil, K at first K0 everywhere, then flux
    // q at the surface. Check by superposition: the response to (q1 + q2) is the sum of the
    // responses.
    const auto response = [](double flux) {
        static const Gardner soil;
        Settings settings;
        settings.vapour = false;
        settings.largest_change = 0.001;
        Profile profile(soil, make_grid(600, 1, 600, 1, 1), settings);
        const double k0 = 1e-4;
        profile.fill(std::log(k0 / Gardner::kSaturated) / Gardner::kAlpha);
        Surface surface;
        surface.supply_mm_s = k0 + flux;
        profile.advance(surface, 6 * 3600);
        std::vector<double> gain;
        for (std::size_t i = 0; i < 400; i += 20)
            gain.push_back(soil.at(profile.heads_mm()[i]).conductivity - k0);
        return gain;
    };
    const auto one = response(0.001), two = response(0.003), both = response(0.004);
    for (std::size_t i = 0; i < both.size(); ++i)
        CHECK(one[i] + two[i] == doctest::Approx(both[i]).epsilon(0.01).scale(0.0005));
}

TEST_CASE("water that the soil cannot take stands, then runs off, and none is lost") {
    Settings settings;
    settings.pond_capacity_mm = 3;
    const SaxtonRawls clay({.498, 1.1, 1, .002275, 11.065});
    Profile profile(clay, make_grid(300, 0.5, 15, 8, 1.12), settings);
    profile.fill(-100 * kMmPerKpa);
    const double before = profile.storage_mm();
    Surface storm;
    storm.supply_mm_s = 40.0 / 3600;
    storm.temp_c = 18;
    Sums sums = profile.advance(storm, 3600);
    CHECK(profile.pond_mm() == doctest::Approx(3));
    CHECK(sums.runoff > 20);
    Surface calm;
    calm.demand_mm_s = 0.2 / 3600;
    for (int hour = 0; hour < 24; ++hour)
        sums += profile.advance(calm, 3600);
    CHECK(profile.pond_mm() < 3);
    CHECK(profile.storage_mm() - before ==
          doctest::Approx(sums.supply - sums.evaporation - sums.runoff - sums.drainage)
              .epsilon(1e-6));
}
