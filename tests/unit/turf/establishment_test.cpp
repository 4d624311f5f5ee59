#include "base/random.hpp"
#include "turf/establishment.hpp"
#include "turf/growth.hpp"
#include "turf/thermal_time.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

using namespace firstmow;
using namespace firstmow::turf;

namespace {

constexpr Seconds kStep{300};
constexpr Seconds kDay{86400};
const WallTime kStart = wall_from_unix(1'787'000'400);

const std::vector<MixShare> kBlueRye{{Species::kentucky_bluegrass, 0.6},
                                     {Species::perennial_ryegrass, 0.4}};

// A lawn and its own clock.
struct Lawn {
    Progress progress;
    WallTime now = kStart;
    std::vector<PhaseChange> changes{};

    void note(const std::optional<PhaseChange>& change) {
        if (change) changes.push_back(*change);
    }
    void pass(Seconds length, double soil_temp_c = 20, double kpa = -10) {
        for (const WallTime end = now + length; now < end;) {
            now += kStep;
            note(advance(progress, soil_temp_c, kpa, kStep, now));
        }
    }
    // Lets days pass until the phase is reached; fails the test when it is not within `most`.
    void pass_until(Phase phase, int most_days = 400) {
        const WallTime end = now + kDay * most_days;
        while (progress.phase != phase && now < end)
            pass(kStep);
        REQUIRE_EQ(key(progress.phase), key(phase));
    }
    void report(ObservationKind kind) { note(observe(progress, kind, now)); }
};

Lawn seeded(const std::vector<MixShare>& mix = kBlueRye) {
    return {begin(Method::seed, mix, kStart)};
}

} // namespace

TEST_CASE("species and reports are found by the keys they are written with") {
    CHECK_EQ(all_species().size(), 8);
    for (const SpeciesTraits& kind : all_species()) {
        CHECK_EQ(species_by_key(kind.key).value(), kind.species);
        CHECK(&traits(kind.species) == &kind);
        CHECK(kind.base_temp_c < kind.optimum_temp_c);
        CHECK(kind.optimum_temp_c < kind.ceiling_temp_c);
        CHECK(kind.emergence_factor > 1);
    }
    CHECK_FALSE(species_by_key("Kentucky bluegrass").has_value());
    for (const char* word : {"seedlings_seen", "first_mow", "rooted", "surface_dry", "puddling",
                             "nothing_yet", "mown"})
        CHECK_EQ(key(observation_by_key(word).value()), word);
    CHECK_FALSE(observation_by_key("mow").has_value());
}

TEST_CASE("warmer is never later up to the optimum, and above it slower down to nothing") {
    for (const SpeciesTraits& kind : all_species()) {
        CAPTURE(kind.name);
        double before = 0;
        for (double t = -5; t <= kind.optimum_temp_c; t += 0.25) {
            const double rate = germination_cd_per_day(kind, t);
            CHECK(rate >= before);
            before = rate;
        }
        CHECK(before > 0);
        for (double t = kind.optimum_temp_c; t <= kind.ceiling_temp_c + 5; t += 0.25) {
            const double rate = germination_cd_per_day(kind, t);
            CHECK(rate <= before);
            before = rate;
        }
        CHECK_EQ(before, 0);
        CHECK_EQ(germination_cd_per_day(kind, kind.base_temp_c), 0);
    }
}

TEST_CASE("drier is never sooner, and beyond the base water potential seed stands still") {
    for (const SpeciesTraits& kind : all_species()) {
        double before = 1;
        for (double kpa = 0; kpa >= kind.base_water_kpa; kpa -= 10) {
            CHECK(water_factor(kind, kpa) <= before);
            before = water_factor(kind, kpa);
        }
        CHECK_EQ(water_factor(kind, kind.base_water_kpa - 1), 0);
        CHECK_EQ(water_factor(kind, 3), 1); // a film of water on top
    }
    Lawn dry = seeded();
    dry.pass(kDay * 30, 20, -5000);
    for (const SpeciesProgress& species : dry.progress.species) {
        CHECK_EQ(species.tau, 0);
        CHECK_EQ(stand_of(species), 1); // and nothing dies that has no radicle
    }
    CHECK_EQ(key(dry.progress.phase), "pre_germination");
}

TEST_CASE("seed passes through its phases in order, each change with a reason") {
    Lawn lawn = seeded();
    lawn.pass(kDay * 300, 18);
    const std::array<Phase, 5> expected{Phase::pre_germination, Phase::emergence, Phase::seedling,
                                        Phase::post_first_mow, Phase::mature};
    REQUIRE_EQ(lawn.changes.size(), 4);
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK_EQ(key(lawn.changes[i].from), key(expected[i]));
        CHECK_EQ(key(lawn.changes[i].to), key(expected[i + 1]));
        CHECK(lawn.changes[i].why.ends_with('.'));
    }
    CHECK_EQ(lawn.changes[1].why,
             "Kentucky bluegrass has gathered 289 of 289 degree-days: all up.");
    CHECK_EQ(lawn.progress.root_depth_mm, 150);
    CHECK(lawn.progress.cover_fraction > 0.95);
}

TEST_CASE("bluegrass keeps a rye mix damp, a trace of it does not") {
    Lawn mix = seeded();
    Lawn blue = seeded({{Species::kentucky_bluegrass, 1.0}});
    Lawn rye = seeded({{Species::perennial_ryegrass, 1.0}});
    Lawn trace = seeded({{Species::kentucky_bluegrass, 0.05}, {Species::perennial_ryegrass, 0.95}});
    for (Lawn* lawn : {&mix, &blue, &rye, &trace})
        lawn->pass_until(Phase::seedling);
    CHECK(mix.now == blue.now);
    CHECK(trace.now == rye.now);
    CHECK(mix.now - rye.now > kDay * 5);
    // Where nothing has a tenth of the mix, the slowest of all decides.
    std::vector<MixShare> many(11, {Species::perennial_ryegrass, 0.09});
    many[4].species = Species::kentucky_bluegrass;
    Lawn crowd = seeded(many);
    crowd.pass_until(Phase::seedling);
    CHECK(crowd.now == blue.now);
}

TEST_CASE("drying kills from the first radicle of the fastest until the slowest is up") {
    Lawn lawn = seeded();
    CHECK_FALSE(drying_kills(lawn.progress));
    while (lawn.progress.species[1].tau < 0.6)
        lawn.pass(kStep);
    CHECK_EQ(key(lawn.progress.phase), "pre_germination"); // bluegrass names the phase
    CHECK(drying_kills(lawn.progress));
    const Needs early = needs(lawn.progress, lawn.now);
    lawn.pass_until(Phase::emergence);
    CHECK(drying_kills(lawn.progress));
    const Needs strict = needs(lawn.progress, lawn.now);
    CHECK_EQ(early.threshold_kpa, strict.threshold_kpa);
    CHECK_EQ(strict.threshold_kpa, -100);
    CHECK_FALSE(strict.judge_root_zone);
    CHECK(strict.before_sunset >= Seconds{7200});
    lawn.pass_until(Phase::seedling);
    CHECK_FALSE(drying_kills(lawn.progress));
}

TEST_CASE("nothing happens before the day of sowing") {
    Lawn lawn = seeded();
    lawn.now = kStart - kDay * 3;
    const Progress untouched = lawn.progress;
    CHECK_FALSE(under_way(lawn.progress, lawn.now));
    lawn.report(ObservationKind::first_mow); // of the old lawn
    lawn.pass(kDay * 3 - kStep);
    CHECK(lawn.progress == untouched);
    CHECK_EQ(needs(lawn.progress, lawn.now).threshold_kpa, kNoThresholdKpa);
    CHECK_EQ(needs(lawn.progress, lawn.now).wet_depth_mm, 0);
    CHECK(under_way(lawn.progress, kStart));
    // A step across the start counts from the start.
    Progress across = untouched;
    Progress from_start = untouched;
    advance(across, 20, 0, kDay, kStart + Seconds{3600});
    advance(from_start, 20, 0, Seconds{3600}, kStart + Seconds{3600});
    CHECK(across == from_start);
    CHECK(across.species[0].tau > 0);
}

TEST_CASE("seedlings seen moves the fastest species forward, and ends no damp phase") {
    Lawn lawn = seeded();
    lawn.pass(kDay * 4);
    const Progress before = lawn.progress;
    lawn.report(ObservationKind::seedlings_seen);
    CHECK(lawn.progress.seedlings_seen == lawn.now);
    CHECK_EQ(lawn.progress.species[1].tau, before.species[1].tau); // the book's time stays
    CHECK(own_tau(lawn.progress.species[1]) > 1.5);                // ryegrass: first green is 1.7
    CHECK(lawn.progress.species[0] == before.species[0]);          // bluegrass
    CHECK(lawn.changes.empty());
    CHECK(drying_kills(lawn.progress));
    const Progress told = lawn.progress;
    lawn.report(ObservationKind::seedlings_seen); // the first report is what counts
    CHECK(lawn.progress == told);
    lawn.report(ObservationKind::nothing_yet); // and is not taken back
    CHECK(lawn.progress == told);

    Lawn rye = seeded({{Species::perennial_ryegrass, 1.0}});
    rye.pass(kDay / 2);
    rye.report(ObservationKind::seedlings_seen); // on the first day: weeds
    CHECK_FALSE(rye.progress.seedlings_seen.has_value());
    CHECK_EQ(rye.progress.species[0].slowness, 1);
    CHECK_EQ(key(rye.progress.phase), "emergence"); // guarded all the same
    CHECK(drying_kills(rye.progress));
    CHECK_EQ(rye.changes.size(), 1);
    rye.pass(kDay * 3);
    rye.report(ObservationKind::seedlings_seen);
    CHECK(rye.progress.seedlings_seen == rye.now);
    CHECK_EQ(rye.changes.size(), 1);
}

TEST_CASE("the first mow ends the seedling phase, and is believed when it comes early") {
    Lawn due = seeded();
    due.pass_until(Phase::seedling);
    due.pass(kDay * 20);
    CHECK_EQ(key(due.progress.phase), "seedling");
    due.report(ObservationKind::first_mow);
    CHECK_EQ(key(due.progress.phase), "post_first_mow");
    CHECK(due.progress.first_mow == due.now);
    CHECK_FALSE(due.progress.first_mow_assumed);
    const WallTime mown = due.now;
    due.pass(kDay);
    due.report(ObservationKind::first_mow); // the second mow is not the first
    CHECK(due.progress.first_mow == mown);

    Lawn early = seeded();
    early.pass(kDay * 2);
    const Needs before = needs(early.progress, early.now);
    early.report(ObservationKind::first_mow);
    CHECK_EQ(key(early.progress.phase), "post_first_mow");
    CHECK(early.progress.all_up == early.now);
    CHECK_EQ(progress_pct(early.progress), 100);
    CHECK(early.progress.cover_fraction >= 0.5);
    CHECK(early.progress.root_depth_mm >= 60);
    CHECK_EQ(needs(early.progress, early.now).threshold_kpa, before.threshold_kpa);
    // The water it was not drawn back by is made up faster.
    early.pass(kDay * 14);
    CHECK(early.progress.hardening > 1);
}

TEST_CASE("a first mow that is never reported is assumed when long due, and can be reported late") {
    Lawn lawn = seeded();
    lawn.pass_until(Phase::seedling);
    const WallTime up = lawn.now;
    lawn.pass_until(Phase::post_first_mow);
    CHECK(lawn.progress.first_mow_assumed);
    CHECK(lawn.progress.first_mow == lawn.now);
    // Bluegrass: 36 good days to its first mow, half as long again, at 20 deg C.
    const double days = static_cast<double>((lawn.now - up).count()) / 86400;
    CHECK(std::abs(days - 54) < 0.01);
    CHECK(lawn.changes.back().why.find("No first mow was reported") == 0);
    lawn.pass(kDay);
    lawn.report(ObservationKind::first_mow);
    CHECK_FALSE(lawn.progress.first_mow_assumed);
    CHECK(lawn.progress.first_mow == lawn.now);
    CHECK_EQ(key(lawn.progress.phase), "post_first_mow");
}

TEST_CASE("sod roots, is reported or taken as rooted, and grows in") {
    Lawn lawn{begin(Method::sod, {{Species::tall_fescue, 1.0}}, kStart)};
    CHECK_EQ(key(lawn.progress.phase), "rooting");
    CHECK_EQ(lawn.progress.cover_fraction, 1);
    CHECK_EQ(needs(lawn.progress, kStart).wet_depth_mm, 100);
    CHECK_EQ(needs(lawn.progress, kStart).threshold_kpa, -50);
    CHECK_EQ(*days_to_all_up(lawn.progress, 20), doctest::Approx(14));
    lawn.pass(kDay * 12);
    CHECK(needs(lawn.progress, lawn.now).wet_depth_mm < 60);
    CHECK_EQ(lawn.progress.root_depth_mm, doctest::Approx(20 + 7 * 7));
    Lawn mown = lawn;
    Lawn silent = lawn;
    lawn.report(ObservationKind::seedlings_seen);
    CHECK(lawn.changes.empty());
    lawn.report(ObservationKind::rooted);
    mown.report(ObservationKind::first_mow);
    for (Lawn* told : {&lawn, &mown}) {
        CHECK_EQ(key(told->progress.phase), "post_first_mow");
        CHECK(told->progress.rooted == told->now);
        CHECK_FALSE(told->progress.rooted_assumed);
    }
    CHECK(mown.progress.first_mow == mown.now);
    CHECK_FALSE(lawn.progress.first_mow.has_value());
    silent.pass_until(Phase::post_first_mow);
    CHECK(silent.progress.rooted_assumed);
    CHECK(std::abs(static_cast<double>((silent.now - kStart).count()) / 86400 - 28) < 0.01);
    lawn.pass_until(Phase::mature, 60);
    // Sod whose grasses nobody named.
    Lawn plain{begin(Method::sod, {}, kStart)};
    plain.pass_until(Phase::mature, 100);
}

TEST_CASE("an overseeding starts with the old turf's cover and roots") {
    Lawn lawn{begin(Method::overseed, {{Species::perennial_ryegrass, 1.0}}, kStart)};
    CHECK_EQ(key(lawn.progress.phase), "pre_germination");
    CHECK_EQ(lawn.progress.cover_fraction, 0.35);
    CHECK_EQ(lawn.progress.root_depth_mm, 100);
    lawn.pass_until(Phase::seedling);
    // The new grass is shallow whatever the old has: the seed zone still decides.
    CHECK_FALSE(needs(lawn.progress, lawn.now).judge_root_zone);
    lawn.pass(kDay * 30);
    CHECK(lawn.progress.cover_fraction > 0.7);
}

TEST_CASE("a grown-in lawn stays as it is and takes no report") {
    Lawn lawn{begin(Method::none, {}, kStart)};
    const Progress before = lawn.progress;
    lawn.pass(kDay * 20);
    for (const char* word : {"seedlings_seen", "first_mow", "rooted", "surface_dry", "puddling"})
        lawn.report(*observation_by_key(word));
    CHECK(lawn.progress == before);
    CHECK(lawn.changes.empty());
    const Needs mature = needs(lawn.progress, lawn.now);
    CHECK(mature.judge_root_zone);
    CHECK_EQ(mature.allowed_depletion, 0.4); // as roots that nobody named: cool-season
    CHECK_EQ(mature.wet_depth_mm, 150);
    CHECK_EQ(mature.longest_gap, Seconds{0});
    CHECK_EQ(progress_pct(lawn.progress), 100);
}

TEST_CASE("the water is drawn back in stations: damp, first mow, ordinary lawn") {
    Lawn lawn = seeded();
    lawn.pass_until(Phase::seedling);
    CHECK_EQ(needs(lawn.progress, lawn.now).wet_depth_mm, 25);
    CHECK_EQ(needs(lawn.progress, lawn.now).longest_gap, Seconds{12 * 3600});
    lawn.pass(kDay * 40); // 36 good days to the first mow
    const Needs at_mow = needs(lawn.progress, lawn.now);
    CHECK_EQ(at_mow.threshold_kpa, -300);
    CHECK_EQ(at_mow.wet_depth_mm, 60);
    CHECK_EQ(at_mow.allowed_depletion, 0.3);
    CHECK_EQ(at_mow.longest_gap, Seconds{24 * 3600});
    CHECK(at_mow.judge_root_zone);
    lawn.report(ObservationKind::first_mow);
    CHECK_EQ(needs(lawn.progress, lawn.now).threshold_kpa, -300);
    lawn.pass_until(Phase::mature, 50); // 49 good days
    CHECK_EQ(needs(lawn.progress, lawn.now).threshold_kpa, -1500);
    CHECK_EQ(needs(lawn.progress, lawn.now).allowed_depletion, 0.4);
}

TEST_CASE("short roots hold the taper up, in heat they grow at a quarter or not at all") {
    const SpeciesTraits& blue = traits(Species::kentucky_bluegrass);
    CHECK_EQ(root_rate(blue, 19), 1);
    CHECK_EQ(root_rate(blue, 27), 0.25);
    CHECK_EQ(root_rate(blue, 33), 0);
    CHECK_EQ(root_rate(blue, 0), 0);

    Lawn warm = seeded({{Species::creeping_bentgrass, 1.0}});
    warm.pass_until(Phase::seedling);
    Lawn mild = warm;
    warm.pass(kDay * 23, 25); // shoots grow as fast as at 20 deg C, roots do not
    mild.pass(kDay * 23, 20);
    CHECK(warm.progress.growth_cd > 0.98 * mild.progress.growth_cd);
    CHECK(mild.progress.hardening > 0.99);
    CHECK(warm.progress.hardening < 0.9);

    warm.report(ObservationKind::first_mow); // counts for 60 mm of roots
    warm.pass(kDay * 55, 25);                // long enough for 49 good days of growth
    CHECK_EQ(key(warm.progress.phase), "post_first_mow");
    CHECK(warm.progress.hardening < 2);
    warm.pass_until(Phase::mature, 40);
    CHECK_EQ(warm.progress.species[0].root_depth_mm, kDeepestRootsMm);
}

TEST_CASE("a dry surface or standing water says nothing about the grass") {
    Lawn lawn = seeded();
    lawn.pass(kDay * 5);
    const Progress before = lawn.progress;
    lawn.report(ObservationKind::surface_dry);
    lawn.report(ObservationKind::puddling);
    CHECK(lawn.progress == before);
}

TEST_CASE("the forecast of all up is what then happens") {
    Lawn lawn = seeded();
    lawn.pass(kDay * 3, 15, 0);
    const double days = days_to_all_up(lawn.progress, 19).value();
    const WallTime from = lawn.now;
    double pct = progress_pct(lawn.progress);
    while (!lawn.progress.all_up && lawn.now < from + kDay * 60) {
        lawn.pass(kStep, 19, 0);
        CHECK(progress_pct(lawn.progress) >= pct);
        pct = progress_pct(lawn.progress);
    }
    CHECK(std::abs(static_cast<double>((lawn.now - from).count()) / 86400 - days) < 0.01);
    CHECK_EQ(pct, 100);
    CHECK_EQ(days_to_all_up(lawn.progress, 19).value(), 0);
    CHECK_FALSE(days_to_all_up(seeded().progress, 2).has_value());
    CHECK_FALSE(days_to_all_up(seeded().progress, 45).has_value());
}

namespace {

// Weather and reports at random; the same seed gives the same season.
struct Season {
    Random random;
    Lawn lawn;

    void step() {
        const double hour = static_cast<double>((lawn.now - kStart).count() % 86400) / 3600;
        const double temp = 18 + 9 * std::sin((hour - 9) * 0.2618) + 8 * (random.uniform() - 0.5);
        const double kpa = -400 * random.uniform() * random.uniform();
        lawn.pass(kStep, temp, kpa);
        if (random.uniform() < 1.0 / (288 * 25)) {
            const std::array<ObservationKind, 3> kinds{ObservationKind::seedlings_seen,
                                                       ObservationKind::first_mow,
                                                       ObservationKind::rooted};
            lawn.report(kinds[static_cast<std::size_t>(random.uniform() * 2.999)]);
        }
    }
};

Season season(std::uint64_t seed) {
    const std::vector<MixShare> warm{{Species::bermudagrass, 0.5}, {Species::zoysiagrass, 0.5}};
    const std::array<Progress, 4> starts{
        begin(Method::seed, kBlueRye, kStart), begin(Method::overseed, kBlueRye, kStart),
        begin(Method::sod, kBlueRye, kStart), begin(Method::seed, warm, kStart)};
    return {Random{seed}, {starts[seed % starts.size()]}};
}

void check_step(const Progress& before, const Progress& after, const Needs& was, const Needs& is) {
    REQUIRE(after.hardening >= before.hardening);
    const bool cut = after.standing_cover < before.standing_cover;
    REQUIRE((cut || after.cover_fraction >= before.cover_fraction));
    REQUIRE(after.cover_fraction <= 1);
    REQUIRE(after.root_depth_mm >= before.root_depth_mm);
    REQUIRE(after.root_depth_mm <= kDeepestRootsMm);
    for (std::size_t i = 0; i < after.species.size(); ++i)
        REQUIRE(after.species[i].tau >= before.species[i].tau);
    // Wetter at once only where a report wakes seed that lay too cold.
    const bool woken = was.threshold_kpa < -100 && is.threshold_kpa > was.threshold_kpa;
    REQUIRE((woken || std::abs(is.threshold_kpa / was.threshold_kpa - 1) < 0.03));
    REQUIRE(std::abs(is.wet_depth_mm - was.wet_depth_mm) < 0.25);
    REQUIRE(std::abs(is.allowed_depletion - was.allowed_depletion) < 0.001);
    if (is.longest_gap > Seconds{0} && was.longest_gap > Seconds{0})
        REQUIRE(std::chrono::abs(is.longest_gap - was.longest_gap) < Seconds{120});
    REQUIRE_FALSE((was.judge_root_zone && !is.judge_root_zone));
}

} // namespace

TEST_CASE("nothing jumps and nothing shrinks, whatever the weather and the reports") {
    for (std::uint64_t seed = 0; seed < 24; ++seed) {
        CAPTURE(seed);
        Season one = season(seed);
        for (int step = 0; step < 288 * 150; ++step) {
            const Progress before = one.lawn.progress;
            const Needs was = needs(before, one.lawn.now);
            one.step();
            check_step(before, one.lawn.progress, was, needs(one.lawn.progress, one.lawn.now));
        }
        CHECK(one.lawn.changes.size() >= 2);
    }
}

TEST_CASE("the same season twice is the same value") {
    for (std::uint64_t seed = 0; seed < 4; ++seed) {
        Season one = season(seed);
        Season two = season(seed);
        for (int step = 0; step < 288 * 60; ++step) {
            one.step();
            two.step();
        }
        CHECK(one.lawn.progress == two.lawn.progress);
        two.step();
        CHECK_FALSE(one.lawn.progress == two.lawn.progress);
    }
}

TEST_CASE("the length of a step hardly matters") {
    Lawn fine = seeded();
    fine.pass(kDay * 40);
    Progress coarse = begin(Method::seed, kBlueRye, kStart);
    for (WallTime now = kStart + Seconds{3600}; now <= kStart + kDay * 40; now += Seconds{3600})
        advance(coarse, 20, -10, Seconds{3600}, now);
    CHECK_EQ(key(coarse.phase), key(fine.progress.phase));
    CHECK(std::abs(coarse.species[0].tau - fine.progress.species[0].tau) < 1e-9);
    CHECK(std::abs(coarse.growth_cd - fine.progress.growth_cd) < 1);
    CHECK(std::abs(coarse.root_depth_mm - fine.progress.root_depth_mm) < 1);
    CHECK(std::abs(coarse.cover_fraction - fine.progress.cover_fraction) < 0.01);
}
