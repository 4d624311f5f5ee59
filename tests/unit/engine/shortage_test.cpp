// A season under a ban on watering at midday, and notices that do not repeat themselves.
#include "rig.hpp"

#include "engine/codec.hpp"

#include <algorithm>

using namespace firstmow;
using namespace firstmow::engine;
using trial::garden_of;
using trial::kHot;
using trial::local;
using trial::Rig;
using trial::seed_zone;

namespace {

garden::Garden banned(std::vector<garden::Zone> zones) {
    auto garden = garden_of(std::move(zones));
    garden.supply.hours = {{5 * 3600, 10 * 3600}, {18 * 3600, 21 * 3600}};
    return garden;
}

int second_of_day(WallTime t) {
    return trial::local_zone().to_local(t).second_of_day;
}

// Hours of daylight in which the driest quarter was below its threshold.
double dry_hours(const Rig& rig, WallTime from) {
    int lines = 0;
    for (const Moisture& line : trial::only<Moisture>(rig.records)) {
        const int s = second_of_day(line.time);
        if (line.time >= from && s > 6 * 3600 && s < 19 * 3600 &&
            line.low_quarter_kpa < line.threshold_kpa)
            ++lines;
    }
    return lines / 6.0;
}

} // namespace

TEST_CASE("shortage: under a ban at midday it waters late in the morning, at six, and says so") {
    Rig rig(banned({seed_zone("z1")}), local(0, 5), kHot);
    rig.run_to(local(6, 0));
    int evenings = 0;
    int late_mornings = 0;
    for (const Cycle& cycle : rig.cycles()) {
        const int start = second_of_day(cycle.start);
        const int end = second_of_day(cycle.end);
        const bool morning = start >= 5 * 3600 && end <= 10 * 3600 + 10;
        const bool evening = start >= 18 * 3600 && end <= 21 * 3600 + 10;
        CHECK((morning || evening));
        evenings += evening;
        late_mornings += morning && end > 9 * 3600 + 50 * 60;
    }
    CHECK(late_mornings >= 5);
    CHECK(evenings >= 3);
    const auto notices = rig.notices("will_be_dry");
    REQUIRE(!notices.empty());
    CHECK(notices.size() <= 3);
    CHECK(notices[0].text.find("local authority") != std::string::npos);
    CHECK(notices[0].text.find(" kPa") != std::string::npos);
    CHECK(notices[0].text.find("Straw") != std::string::npos);
    // The same days without the ban: hardly any dry hour, so the ban was what made them.
    Rig free(garden_of({seed_zone("z1")}), local(0, 5), kHot);
    free.run_to(local(6, 0));
    CHECK(dry_hours(free, local(1, 0)) < dry_hours(rig, local(1, 0)) / 4);
    CHECK(free.notices("will_be_dry").empty());
}

TEST_CASE("shortage: a spell is told once, the next night's like it not again") {
    auto garden = garden_of({seed_zone("z1", soil::TextureClass::sand)});
    garden.supply.hours = {{8 * 3600, 11 * 3600}};
    Rig rig(garden, local(0, 5), kHot);
    rig.run_to(local(4, 0));
    const auto notices = rig.notices("will_be_dry");
    REQUIRE(!notices.empty());
    CHECK(notices.size() <= 2); // once, and once more where it became worse
    for (const Notice& notice : notices) {
        CHECK(notice.text.find("longer hours") != std::string::npos);
        CHECK(notice.text.find("ban") == std::string::npos);
    }
    // What was told is remembered over a restart.
    const auto again = decode_state(rig.setup, encode_state(rig.setup, rig.state));
    REQUIRE(again);
    CHECK(again->zones[0].warned_until == rig.zone().warned_until);
    CHECK(again->zones[0].warned_dry_s > 0);
    CHECK(*again == rig.state);
}
