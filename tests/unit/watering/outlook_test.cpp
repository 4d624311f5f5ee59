#include "watering/outlook.hpp"

#include "trial_task.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::Air;
using firstmow::trial::local;

namespace {

const WallTime kNoon = local(0, 12);

struct Bed {
    explicit Bed(soil::TextureClass texture = soil::TextureClass::loam, const Air& air = {})
        : planning(trial::garden_of({trial::seed_zone("z1", texture)}), kNoon, air),
          test(dry_test(*planning.task().spec, planning.task().state.progress,
                        planning.task().needs)),
          now(look(*planning.task().spec, planning.task().state, test, kNoon)) {}
    trial::Planning planning;
    DryTest test;
    Outlook now;
};

std::optional<WallTime> dry_under(Bed& bed, const std::vector<HourDemand>& hours) {
    Outlook o = bed.now;
    return first_dry(o, hours, kNoon + 48 * trial::kHour, bed.test);
}

} // namespace

TEST_CASE("outlook: rain counts by its probability") {
    HourDemand hour;
    hour.rain_mm_per_h = 4;
    hour.rain_probability = 1; // it fell
    CHECK(counted_rain_mm_per_h(hour) == 4);
    hour.rain_probability = 0.59;
    CHECK(counted_rain_mm_per_h(hour) == 0);
    hour.rain_probability = 0.8;
    CHECK(counted_rain_mm_per_h(hour) == doctest::Approx(4 * 0.8));
    hour.rain_share = 0.5; // of such rain half falls in its hour
    CHECK(counted_rain_mm_per_h(hour) == doctest::Approx(4 * 0.5 * 0.8));
    CHECK(counted_rain_mm_per_h(hour, 0.9) == 0); // too unlikely for what is at stake
    CHECK(counted_rain_mm_per_h(hour, 0.8) > 0);
    hour.rain_share = 1;
    double last = 0;
    for (int percent = 0; percent <= 100; ++percent) {
        hour.rain_probability = percent / 100.0;
        const double counted = counted_rain_mm_per_h(hour);
        CHECK(counted >= last);
        CHECK(counted <= 4);
        last = counted;
    }
}

TEST_CASE("outlook: likely rain puts the drying off, unlikely rain does not") {
    Bed bed;
    auto hours = trial::demands(trial::clear_hours(kNoon, 60));
    const auto without = dry_under(bed, hours);
    REQUIRE(without);
    REQUIRE(*without > kNoon);
    hours[1].rain_mm_per_h = 6;
    hours[1].rain_probability = 0.3;
    CHECK(dry_under(bed, hours) == without);
    hours[1].rain_probability = 0.9;
    const auto with = dry_under(bed, hours);
    CHECK((!with || *with > *without + trial::kHour));
}

TEST_CASE("outlook: a run wets, and what runs longer lasts longer") {
    Bed bed;
    bed.planning.dry_out(0, 30);
    const Outlook dry = look(*bed.planning.task().spec, bed.planning.task().state, bed.test, kNoon);
    REQUIRE(is_dry(dry, bed.test));
    const auto hours = trial::demands(trial::clear_hours(kNoon, 60));
    double wetness = judged_kpa(dry, bed.test);
    WallTime lasts = kNoon;
    for (const int minutes : {5, 10, 20, 40}) {
        Outlook o = dry;
        pass(o, hours, kNoon + Seconds{minutes * 60}, true);
        CHECK(o.at == kNoon + Seconds{minutes * 60});
        CHECK(judged_kpa(o, bed.test) > wetness);
        wetness = judged_kpa(o, bed.test);
        const auto dries = first_dry(o, hours, kNoon + 48 * trial::kHour, bed.test);
        CHECK(dries.value_or(WallTime::max()) >= lasts);
        lasts = dries.value_or(WallTime::max());
    }
    CHECK(lasts > kNoon + trial::kHour);
}

TEST_CASE("outlook: the driest quarter gets its share of a run") {
    Bed bed;
    bed.planning.dry_out(0, 30);
    Outlook low = look(*bed.planning.task().spec, bed.planning.task().state, bed.test, kNoon);
    DryTest of_mean = bed.test;
    of_mean.driest_quarter = false;
    CHECK(low.share == doctest::Approx(0.65));
    Outlook even = low;
    even.share = 1;
    const auto hours = trial::demands(trial::clear_hours(kNoon, 4));
    const double before = soil::storage_mm(low.spec->column, low.column);
    pass(low, hours, kNoon + Seconds{600}, true);
    pass(even, hours, kNoon + Seconds{600}, true);
    // 10 min at 12 mm/h are 2 mm; evaporation takes the same from both, to a hundredth.
    const double got = soil::storage_mm(low.spec->column, low.column) - before;
    const double all = soil::storage_mm(even.spec->column, even.column) - before;
    CHECK(all - got == doctest::Approx(2 * 0.35).epsilon(0.03));
    CHECK(look(*bed.planning.task().spec, bed.planning.task().state, of_mean, kNoon).share == 1);
}

TEST_CASE("outlook: the hotter, the sooner dry") {
    for (const auto texture :
         {soil::TextureClass::sand, soil::TextureClass::loam, soil::TextureClass::clay}) {
        Bed bed(texture);
        WallTime last = WallTime::max();
        for (const double mean_c : {10.0, 16.0, 22.0, 28.0, 34.0}) {
            const auto hours = trial::demands(trial::clear_hours(kNoon, 60, {mean_c, 7, 8, 2}));
            const auto dry = dry_under(bed, hours);
            CHECK(dry.value_or(WallTime::max()) <= last);
            last = dry.value_or(WallTime::max());
        }
        CHECK(last < kNoon + 24 * trial::kHour);
    }
}

TEST_CASE("outlook: first_dry stands at the moment it tells of") {
    Bed bed;
    Outlook o = bed.now;
    const auto hours = trial::demands(trial::clear_hours(kNoon, 60, trial::kHot));
    const auto dry = first_dry(o, hours, kNoon + 48 * trial::kHour, bed.test);
    REQUIRE(dry);
    // Five minutes are as near as it looks.
    CHECK(o.at >= *dry);
    CHECK(o.at - *dry <= Seconds{300});
    CHECK(is_dry(o, bed.test));
    Outlook before = bed.now;
    pass(before, hours, o.at - Seconds{300}, false);
    CHECK_FALSE(is_dry(before, bed.test));
    // What is dry is dry now.
    CHECK(first_dry(o, hours, kNoon + 48 * trial::kHour, bed.test) == o.at);
}

TEST_CASE("outlook: ends with the weather that is known") {
    Bed bed;
    const auto hours = trial::demands(trial::clear_hours(kNoon, 2, trial::kMild));
    Outlook o = bed.now;
    pass(o, hours, kNoon + 48 * trial::kHour, false);
    CHECK(o.at == kNoon + 2 * trial::kHour);
    Outlook unknown = bed.now;
    pass(unknown, {}, kNoon + trial::kHour, false);
    CHECK(unknown.at == kNoon);
    CHECK_FALSE(first_dry(unknown, {}, kNoon + trial::kHour, bed.test));
}

TEST_CASE("outlook: the deficit is what fills the soil to field capacity") {
    Bed bed;
    const ZoneSpec& spec = *bed.planning.task().spec;
    const double full = spec.column.soil[0]->hydraulics().field_capacity;
    soil::ColumnState column = soil::uniform_state(spec.column, -33);
    CHECK(deficit_mm(spec, column, 25) == doctest::Approx(0).epsilon(1e-6));
    for (double& theta : column.theta)
        theta = full - 0.1;
    CHECK(deficit_mm(spec, column, 25) == doctest::Approx(2.5));
    CHECK(deficit_mm(spec, column, 60) == doctest::Approx(6.0));
    column.pond_mm = 1;
    CHECK(deficit_mm(spec, column, 25) == doctest::Approx(1.5));
    column.pond_mm = 9;
    CHECK(deficit_mm(spec, column, 25) == 0);
}

TEST_CASE("outlook: what the top holds beyond field capacity is no water for the roots below") {
    Bed bed;
    Outlook o = bed.now;
    const double full = o.spec->column.soil[0]->hydraulics().field_capacity;
    for (double& theta : o.column.theta)
        theta = full - 0.1;
    CHECK(roots_deficit_mm(o, 60) == doctest::Approx(deficit_mm(o, 60)));
    o.column.theta[0] = full;
    const double below_mm = roots_deficit_mm(o, 60);
    CHECK(deficit_mm(o, 60) == doctest::Approx(below_mm));
    o.column.theta[0] = full + 0.05;
    CHECK(roots_deficit_mm(o, 60) == doctest::Approx(below_mm));
    CHECK(deficit_mm(o, 60) < below_mm);
}

TEST_CASE("outlook: sand takes a long run in one go, clay under a spray does not") {
    const auto hour = trial::demands(trial::clear_hours(kNoon, 1)).front();
    const auto intake = [&](soil::TextureClass texture, double rate) {
        garden::Zone zone = trial::seed_zone("z1", texture);
        zone.precipitation_rate_mm_per_h = rate;
        const ZoneSpec spec = zone_spec(zone);
        const ZoneState state = initial_state(zone, spec, 20, kNoon);
        return longest_intake_s(spec, state, hour, 3600);
    };
    CHECK(intake(soil::TextureClass::sand, 12) == 3600);
    CHECK(intake(soil::TextureClass::clay, 40) < 1200);
    CHECK(intake(soil::TextureClass::clay, 40) >= 60);
    CHECK(intake(soil::TextureClass::clay, 40) <= intake(soil::TextureClass::clay, 12));
}
