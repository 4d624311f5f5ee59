// The earth through the day behind and ahead, as the page draws it.
#include "engine/earth.hpp"
#include "engine/foresight.hpp"

#include "rig.hpp"

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

Rig grown_days(int days) {
    Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
    rig.run_for(Seconds{86400} * days);
    return rig;
}

const EarthPoint* point_at(const ZoneEarth& earth, WallTime t) {
    for (const EarthPoint& point : earth.points)
        if (point.time == t) return &point;
    return nullptr;
}

} // namespace

TEST_CASE("earth: each half hour from a day behind to a day ahead, every layer") {
    Rig rig = grown_days(4);
    const Foresight seen =
        foresee(rig.setup, rig.state, {rig.now, rig.mono}, Seconds{86400}, {}, true);
    const ZoneEarth& earth = seen.zones[0].earth;
    CHECK_EQ(earth.zone, "z1");
    REQUIRE(earth.points.size() >= 95);
    CHECK(earth.points.front().time <= rig.now - Seconds{23 * 3600});
    CHECK(earth.points.back().time >= rig.now + Seconds{23 * 3600});
    for (std::size_t i = 0; i < earth.points.size(); ++i) {
        CHECK_EQ(earth.points[i].kpa.size(), earth.bottom_mm.size());
        if (i > 0) CHECK_EQ(earth.points[i].time - earth.points[i - 1].time, kEarthEvery);
        for (const double kpa : earth.points[i].kpa)
            CHECK(kpa <= 0);
    }
    // Nobody pays for what is not asked for.
    CHECK(foresee(rig.setup, rig.state, {rig.now, rig.mono}, Seconds{86400})
              .zones[0]
              .earth.points.empty());
}

TEST_CASE("earth: the day behind ends as the zone is, and shows where water came") {
    Rig rig = grown_days(4);
    rig.say({WaterOrder{"z1", 600}});
    const WallTime ordered = rig.now;
    rig.run_for(Seconds{3 * 3600});
    const ZoneEarth behind = earth_behind(rig.setup, rig.state, 0, rig.now);
    ZoneEarth now = behind;
    now.points.clear();
    add_earth(now, rig.setup, rig.state, 0, rig.now);
    const EarthPoint* const last = point_at(behind, rig.now);
    REQUIRE(last != nullptr);
    for (std::size_t k = 0; k < last->kpa.size(); ++k)
        CHECK(last->kpa[k] == doctest::Approx(now.points[0].kpa[k]).epsilon(0.02));
    const EarthPoint* const before = point_at(behind, ordered);
    const EarthPoint* const after = point_at(behind, ordered + kEarthEvery);
    REQUIRE(before != nullptr);
    REQUIRE(after != nullptr);
    CHECK(after->kpa[0] > before->kpa[0]);
}

TEST_CASE("earth: without a season there is none") {
    Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
    CHECK(earth_behind(rig.setup, rig.state, 0, rig.now).points.empty());
}
