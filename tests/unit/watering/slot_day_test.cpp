// The rest of a day on a busy tap, shared slot by slot. How good it is beside an exhaustive search:
// exact_day_test.cpp.
#include "watering/slot_day.hpp"

#include "exact_day.hpp"
#include "watering/rollout.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::busy_day;
using firstmow::trial::kHour;
using firstmow::trial::local;
using firstmow::trial::Planning;
using soil::TextureClass;

namespace {

// The beds of a garden, with all that they point into.
struct Sharing {
    explicit Sharing(Planning& planning)
        : context{planning.now(), planning.hours(), &planning.garden(), &planning.timezone()},
          evenings(evenings_of(context)) {
        for (std::size_t i = 0; i < planning.garden().zones.size(); ++i)
            tasks.push_back(planning.task(i));
        for (std::size_t i = 0; i < tasks.size(); ++i)
            beds.emplace_back(context, evenings, tasks[i], i).look_closer(context.now);
    }
    PlanContext context;
    Evenings evenings;
    std::vector<ZoneTask> tasks;
    std::deque<SharedBed> beds;

    SlotDay found() const { return slot_day(context, tasks, beds); }
    LivedDay usual() const {
        std::vector<LastRun> last;
        for (const SharedBed& bed : beds)
            last.push_back(
                {bed.hours_to, bed.sizer.overnight_s(bed.sizer.just_damp_at(bed.hours_to))});
        return live_day(context, tasks, beds, last, {});
    }
};

} // namespace

TEST_CASE("slot day: a busy tap shared by slots leaves beds less dry than the usual way") {
    for (const double rate : {2.5, 4.0, 6.0})
        for (const std::optional<std::size_t> sprouted : {std::optional<std::size_t>{}, {1}}) {
            CAPTURE(rate);
            const auto day = busy_day(
                {TextureClass::loam, TextureClass::sandy_loam, rate, 10 * kHour, sprouted});
            const Sharing sharing(*day);
            const SlotDay found = sharing.found();
            const double usual_min = sharing.usual().cost_min;
            CHECK(usual_min > 0);
            CHECK(found.cost_min < usual_min);
            // The tap is open for no longer than there is time.
            CHECK(found.open <= 10 * kHour);
        }
}

TEST_CASE("slot day: the next runs are within the hours, long enough, one at a time") {
    const auto day =
        busy_day({TextureClass::loam, TextureClass::clay_loam, 4, 10 * kHour, std::nullopt});
    for (const int minutes : {0, 7, 200}) {
        Sharing sharing(*day);
        sharing.tasks[1].hold_until = sharing.context.now + Seconds{60 * minutes};
        sharing.beds.clear();
        for (std::size_t i = 0; i < sharing.tasks.size(); ++i)
            sharing.beds.emplace_back(sharing.context, sharing.evenings, sharing.tasks[i], i)
                .look_closer(sharing.context.now);
        const SlotDay found = sharing.found();
        CAPTURE(minutes);
        REQUIRE(found.next.size() == 2);
        REQUIRE(found.next[0]);
        REQUIRE(found.next[1]);
        for (const auto& run : found.next) {
            CHECK(run->start >= day->now());
            CHECK(run->start + Seconds{run->run_s} <= local(1, 16));
            CHECK(run->run_s >= day->garden().zones[0].shortest_run_s);
            CHECK(run->run_s % 60 == 0);
        }
        CHECK(found.next[1]->start >= sharing.context.now + Seconds{60 * minutes});
        const auto& first =
            found.next[0]->start < found.next[1]->start ? found.next[0] : found.next[1];
        const auto& second = &first == &found.next[0] ? found.next[1] : found.next[0];
        CHECK(first->start + Seconds{first->run_s} <= second->start);
    }
}

TEST_CASE("slot day: beds that run together where the tap feeds both") {
    const auto day =
        busy_day({TextureClass::loam, TextureClass::loam, 3, 10 * kHour, std::nullopt});
    garden::Garden wide = day->garden();
    wide.supply.flow_l_per_min *= 2;
    wide.interlocks.zones_at_once = 2;
    Sharing sharing(*day);
    const double narrow_min = sharing.found().cost_min;
    sharing.context.garden = &wide;
    const SlotDay found = sharing.found();
    CHECK(found.cost_min < narrow_min);
    REQUIRE(found.next[0]);
    REQUIRE(found.next[1]);
    CHECK(found.next[0]->start == found.next[1]->start);
}

TEST_CASE("slot day: water that changes nothing is not given") {
    // A mild day asks for less than a hot one, and a hot one for less than there is.
    Planning planning(trial::garden_of({trial::seed_zone("z1"), trial::seed_zone("z2")}),
                      local(1, 6), trial::kMild);
    const Sharing sharing(planning);
    const SlotDay found = sharing.found();
    CHECK(found.cost_min == 0);
    const auto day =
        busy_day({TextureClass::loam, TextureClass::loam, 12, 13 * kHour, std::nullopt});
    const Sharing hot(*day);
    const SlotDay more = hot.found();
    CHECK(found.open < more.open);
    CHECK(more.open < 13 * kHour / 2);
}
