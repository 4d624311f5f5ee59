// What cannot be done, found ahead, and what is said to help: tried, not claimed.
#include "engine/shortfalls.hpp"

#include "rig.hpp"

#include <algorithm>

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::kHot;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

constexpr Seconds kThreeDays{3 * 24 * 3600};

std::vector<ShortfallView> look(const Rig& rig, Seconds ahead = kThreeDays) {
    return shortfalls(rig.setup, rig.state, {rig.now, rig.mono}, ahead);
}

double left_by(const ShortfallView& shortfall, const std::string& what) {
    for (const Help& help : shortfall.helps)
        if (help.what == what) return help.dry_hours;
    return 1e9;
}

} // namespace

TEST_CASE("shortfalls: none where hours and tap suffice") {
    Rig rig(garden_of({seed_zone("z1"), seed_zone("z2")}), local(0, 5), trial::kMild);
    rig.run_to(local(2, 7));
    CHECK(look(rig).empty());
}

TEST_CASE("shortfalls: a lawn that is judged by its roots is no dry seedbed") {
    Rig rig(garden_of({seed_zone("z1"), trial::grown_zone("z2")}), local(0, 5), kHot);
    rig.run_to(local(2, 15));
    // On top it is drier than any seed may be.
    CHECK(soil::seed_zone_kpa(rig.setup.specs[1].column, rig.state.zones[1].settled.low) < -30);
    const Foresight seen = foresee(rig.setup, rig.state, {rig.now, rig.mono}, kThreeDays);
    CHECK_FALSE(seen.zones[1].dry_from);
    CHECK(seen.zones[1].dry_hours == 0);
    CHECK(look(rig).empty());
}

TEST_CASE("shortfalls: a ban at midday is found ahead, and what helps against it has been tried") {
    auto garden = garden_of({seed_zone("z1")});
    garden.supply.hours = {{5 * 3600, 10 * 3600}, {18 * 3600, 21 * 3600}};
    Rig rig(garden, local(0, 5), kHot);
    rig.run_to(local(1, 8));
    const State before = rig.state;
    const auto found = look(rig);
    CHECK(rig.state == before);
    REQUIRE(found.size() == 1);
    const ShortfallView& s = found[0];
    CHECK(s.zone == "z1");
    CHECK(s.dry_hours > 3);
    CHECK(s.lowest_kpa < -100);
    REQUIRE(!s.spells.empty());
    CHECK(s.spells.size() <= 20);
    CHECK(s.ask_authority);
    CHECK(s.text.find("local authority") != std::string::npos);
    double sum = 0;
    for (const DryStretch& spell : s.spells) {
        CHECK(spell.from < spell.until);
        CHECK(spell.lowest_kpa < -100);
        sum += static_cast<double>((spell.until - spell.from).count()) / 3600.0;
    }
    CHECK(sum == doctest::Approx(s.dry_hours));
    // Longer hours are what lacks, so they help; one zone alone has no use for a stronger tap.
    CHECK(left_by(s, "longer_hours") < s.dry_hours / 4);
    CHECK(left_by(s, "fewer_zones") > s.dry_hours);
    for (std::size_t i = 1; i < s.helps.size(); ++i)
        CHECK(s.helps[i - 1].dry_hours <= s.helps[i].dry_hours);
    // And it comes as it was foreseen.
    rig.records.clear();
    rig.run_for(kThreeDays);
    int dry_lines = 0;
    for (const Moisture& line : trial::only<Moisture>(rig.records))
        dry_lines += line.low_quarter_kpa < line.threshold_kpa;
    CHECK(dry_lines / 6.0 == doctest::Approx(s.dry_hours).epsilon(0.1));
}

TEST_CASE("shortfalls: on a tap too small the bed where drying kills is spared, the others told") {
    std::vector<garden::Zone> zones;
    for (int i = 0; i < 3; ++i) {
        zones.push_back(seed_zone("z" + std::to_string(i + 1)));
        zones.back().precipitation_rate_mm_per_h = 4;
        zones.back().area_m2 = 300; // 20 L/min
    }
    Rig rig(garden_of(zones), local(0, 5), kHot);
    rig.run_to(local(1, 7));
    for (turf::SpeciesProgress& species : rig.zone(2).settled.progress.species)
        species.tau = 1.3 * species.slowness;
    const auto found = look(rig, Seconds{24 * 3600});
    REQUIRE(found.size() >= 2);
    double dear = 0;
    double worst = 0;
    for (const ShortfallView& s : found) {
        if (s.zone == "z3") {
            dear = s.dry_hours;
            CHECK(&s == &found[0]);
            CHECK(s.at_stake == "stand");
        } else {
            worst = std::max(worst, s.dry_hours);
            CHECK(s.at_stake == "time");
            CHECK(left_by(s, "fewer_zones") < s.dry_hours);
        }
    }
    CHECK(dear < worst);
    GardenView view = rig.view();
    Foresight seen = foresee(rig.setup, rig.state, {rig.now, rig.mono}, Seconds{24 * 3600});
    seen.shortfalls = found;
    put_into(view, seen);
    CHECK(view.shortfalls.size() == found.size());
}

TEST_CASE("shortfalls: looking ends when it is told to, with what is known by then") {
    auto garden = garden_of({seed_zone("z1")});
    garden.supply.hours = {{5 * 3600, 8 * 3600}};
    Rig rig(garden, local(0, 5), kHot);
    rig.run_to(local(1, 8));
    const auto found =
        shortfalls(rig.setup, rig.state, {rig.now, rig.mono}, kThreeDays, [] { return false; });
    REQUIRE(found.size() == 1);
    CHECK(found[0].helps.empty());
}
