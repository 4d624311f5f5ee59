// What the view tells of the garden as a whole.
#include "engine/view.hpp"

#include "rig.hpp"

#include <algorithm>

using namespace firstmow;
using trial::garden_of;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

// Clocks that are put on in March and back in November, over fifteen years.
TimeZone with_summer_time() {
    std::vector<TimeZone::Era> eras{{WallTime{}, Seconds{-6 * 3600}, "ST"}};
    for (int year = 2018; year < 2033; ++year) {
        const std::chrono::year y{year};
        eras.push_back(
            {std::chrono::sys_days{y / 3 / 10} + Seconds{8 * 3600}, Seconds{-5 * 3600}, "DT"});
        eras.push_back(
            {std::chrono::sys_days{y / 11 / 3} + Seconds{7 * 3600}, Seconds{-6 * 3600}, "ST"});
    }
    return TimeZone("Test/Summer", eras);
}

Seconds told(const std::vector<engine::ClockOffset>& offsets, WallTime t) {
    Seconds offset = offsets.front().utc_offset;
    for (const engine::ClockOffset& one : offsets)
        if (one.from <= t) offset = one.utc_offset;
    return offset;
}

} // namespace

TEST_CASE("view: what the clocks show from three years behind to a year ahead, and little more") {
    Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
    rig.setup.timezone = with_summer_time();
    const auto offsets = rig.view().clock_offsets;
    REQUIRE_FALSE(offsets.empty());
    CHECK(std::is_sorted(offsets.begin(), offsets.end(),
                         [](const auto& a, const auto& b) { return a.from < b.from; }));
    const auto day = std::chrono::days(1);
    for (WallTime t = rig.now - 3 * 366 * day; t < rig.now + 400 * day; t += Seconds{3 * 3600})
        CHECK_EQ(told(offsets, t), rig.setup.timezone.to_local(t).utc_offset);
    CHECK_LE(offsets.size(), 10);
}

TEST_CASE("view: clocks that are never changed have one offset") {
    Rig rig{garden_of({seed_zone("z1")}, 50), local(0, 5)};
    const auto offsets = rig.view().clock_offsets;
    REQUIRE_EQ(offsets.size(), 1);
    CHECK_EQ(offsets[0].utc_offset, Seconds{-6 * 3600});
}

TEST_CASE("view: water on its way to dry roots is told of, and for how long") {
    Rig rig{garden_of({trial::grown_zone("z1")}, 50), local(0, 5), trial::kHot};
    rig.say({engine::HoldOrder{"z1", local(60, 0)}});
    const auto zone = [&] { return rig.view().zones[0]; };
    while (zone().depletion < zone().allowed_depletion && rig.now < local(20, 0))
        rig.run_for(Seconds{3600});
    rig.run_for(Seconds{24 * 3600});
    REQUIRE(zone().depletion >= zone().allowed_depletion);
    CHECK_FALSE(zone().sinks_until.has_value()); // nothing has come
    rig.say({engine::WaterOrder{"z1", 120}});
    rig.run_for(Seconds{600});
    const auto wetted = rig.zone().last_wetted;
    REQUIRE(wetted.has_value());
    CHECK(zone().depletion >= zone().allowed_depletion);
    CHECK(zone().sinks_until == *wetted + Seconds{3 * 3600});
    rig.run_for(Seconds{3 * 3600});
    CHECK(zone().depletion >= zone().allowed_depletion);
    CHECK_FALSE(zone().sinks_until.has_value());
}
