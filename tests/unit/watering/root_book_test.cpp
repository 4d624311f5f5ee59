// The book of a grown-in lawn's root zone, kept beside the column.
#include "watering/root_book.hpp"

#include "trial_task.hpp"
#include "watering/carry.hpp"
#include "watering/explain.hpp"

#include <numbers>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::kHour;
using firstmow::trial::local;

namespace {

constexpr double kHolds = 20;

// An hour of a day whose solar midnight is its first moment.
HourDemand hour_of_day(int hour) {
    HourDemand h;
    h.start = WallTime{} + hour * kHour;
    h.hour_angle_rad = (hour % 24 + 0.5 - 12) * std::numbers::pi / 12;
    return h;
}

void enter_hour(RootBook& book, int hour, double et_mm, double rain_mm, double runoff_mm = 0) {
    soil::Flows flows;
    flows.supply_mm = rain_mm;
    flows.runoff_mm = runoff_mm;
    flows.evaporation_mm = et_mm / 4;
    flows.transpiration_mm = et_mm - et_mm / 4;
    const HourDemand h = hour_of_day(hour);
    enter(book, h, h.start, flows, kHolds);
}

// A grown-in lawn whose soil begins at field capacity.
garden::Zone lawn(soil::TextureClass texture) {
    garden::Zone zone = trial::grown_zone("z1");
    zone.soil = texture;
    zone.soil_below_kpa = -33;
    return zone;
}

} // namespace

TEST_CASE("root book: days by hand") {
    RootBook book{10, 0};
    enter_hour(book, 1, 0, 0);
    enter_hour(book, 12, 5, 0);
    CHECK(book.used_mm == doctest::Approx(15));
    // 2 mm of 6 run off.
    enter_hour(book, 13, 0, 6, 2);
    CHECK(book.used_mm == doctest::Approx(11));
    // 30 mm in the morning: what is too much serves the day ...
    enter_hour(book, 24 + 6, 0, 30);
    enter_hour(book, 24 + 12, 5, 0);
    CHECK(book.used_mm == doctest::Approx(11 - 30 + 5));
    // ... and has drained by its end.
    enter_hour(book, 48, 0.25, 0);
    CHECK(book.used_mm == doctest::Approx(0.25));
    // Rain of the small hours is the new day's.
    enter_hour(book, 48 + 3, 0, 4);
    enter_hour(book, 48 + 12, 5, 0);
    CHECK(book.used_mm == doctest::Approx(0.25 - 4 + 5));
    // No more is used than there is.
    for (int i = 0; i < 10; ++i)
        enter_hour(book, 48 + 13 + i, 5, 0);
    CHECK(book.used_mm == kHolds);
}

TEST_CASE("root book: a day ends once, wherever the sun stands at the full hour") {
    // Over days whose solar midnight lies anywhere in its hour, a surplus is lost every day, and no
    // sooner than half an hour before that midnight.
    for (int k = -60; k <= 60; ++k) {
        const double shift = k * std::numbers::pi / 12 / 60;
        RootBook book{-5, 0};
        int left_at = -1;
        for (int hour = 12; hour < 36 && left_at < 0; ++hour) {
            HourDemand h = hour_of_day(hour);
            h.hour_angle_rad = std::remainder(h.hour_angle_rad + shift, 2 * std::numbers::pi);
            enter(book, h, h.start, {}, kHolds);
            if (book.used_mm == 0) left_at = hour;
        }
        CAPTURE(k);
        CHECK(left_at >= 22);
        CHECK(left_at <= 25);
        const double midnight_h = 24 - k / 60.0;
        CHECK(left_at + 1.02 >= midnight_h);
        CHECK(left_at <= midnight_h + 0.02);
    }
}

TEST_CASE("root book: only a mature zone has one, and it begins where the column stands") {
    const auto hours = trial::demands(trial::clear_hours(local(0, 6), 48));
    const auto soils = {soil::TextureClass::sand, soil::TextureClass::loam,
                        soil::TextureClass::clay};
    for (const soil::TextureClass texture : soils) {
        garden::Zone zone = lawn(texture);
        zone.soil_below_kpa = -200;
        const ZoneSpec spec = zone_spec(zone);
        ZoneState state = initial_state(zone, spec, 20, local(0, 0));
        CHECK_FALSE(state.book.has_value());
        const double depth_mm = roots_mm(spec, state.progress);
        const double used_mm = soil::depletion_fraction(spec.column, state.mean, depth_mm) *
                               soil::available_mm(spec.column, depth_mm);
        CHECK(used_mm > 1);
        const double et_mm = [&] {
            const ZoneStep step = advance(spec, state, hours[0], 0, kGrid, local(0, 6, 5));
            return step.mean.evaporation_mm + step.mean.transpiration_mm - step.mean.dew_mm;
        }();
        REQUIRE(state.book.has_value());
        CHECK(state.book->used_mm == doctest::Approx(used_mm + et_mm));
        // Grass that is young again has none.
        state.progress.phase = turf::Phase::seedling;
        advance(spec, state, hours[0], 0, kGrid, local(0, 6, 10));
        CHECK_FALSE(state.book.has_value());
    }
}

TEST_CASE("root book: what the outlook foresees is what the zone does") {
    const garden::Zone zone = lawn(soil::TextureClass::loam);
    const ZoneSpec spec = zone_spec(zone);
    auto hours = trial::demands(trial::clear_hours(local(0, 6), 96));
    hours[20].rain_mm_per_h = 15;
    ZoneState state = initial_state(zone, spec, 20, local(0, 0));
    const DryTest test = dry_test(spec, state.progress, turf::needs(state.progress, local(0, 6)));
    Outlook o = look(spec, state, test, local(0, 6));
    REQUIRE(o.book.has_value());
    bool surplus = false;
    for (int h = 1; h < 90; ++h) {
        trial::live(spec, state, hours, local(0, 6) + (h - 1) * kHour, local(0, 6) + h * kHour,
                    false);
        pass(o, hours, local(0, 6) + h * kHour, false);
        REQUIRE(state.book.has_value());
        CHECK(std::abs(o.book->used_mm - state.book->used_mm) < 0.1);
        surplus = surplus || state.book->used_mm < -5;
    }
    CHECK(surplus);
    CHECK(state.book->used_mm > 5);
}

TEST_CASE("root book: a clay after rain is due by the book while its column still drains") {
    trial::Planning planning(trial::garden_of({lawn(soil::TextureClass::clay)}), local(0, 10));
    ZoneTask& task = planning.task();
    auto wet = trial::demands(trial::clear_hours(local(0, 10), 72));
    for (std::size_t h = 0; h < 10; ++h)
        wet[h].rain_mm_per_h = 6;
    trial::live(*task.spec, task.state, wet, local(0, 10), local(2, 0), false);
    task.last_wetted.reset();
    const DryTest test = dry_test(*task.spec, task.state.progress, task.needs);
    Outlook o = look(*task.spec, task.state, test, planning.now());
    const double column = soil::depletion_fraction(task.spec->column, o.column, test.depth_mm);
    CHECK(column < 0.5 * test.allowed_depletion);
    const auto by_both = first_dry(o, planning.hours(), local(2, 0), test);
    REQUIRE(by_both.has_value());
    const auto share = book_share(o, test);
    REQUIRE(share.has_value());
    CHECK(share->used_mm ==
          doctest::Approx(test.allowed_depletion * share->holds_mm).epsilon(0.02));
    CHECK(used_share(o, test) == doctest::Approx(share->used_mm / share->holds_mm));
    // The column alone would wait for longer.
    o = look(*task.spec, task.state, test, planning.now());
    o.book.reset();
    const auto by_column = first_dry(o, planning.hours(), local(2, 0), test);
    CHECK((!by_column || *by_column > *by_both + 6 * kHour));
    CHECK_FALSE(book_share(o, test).has_value());

    const ZonePlan plan = planning.plan().front();
    REQUIRE(plan.verdict == ZonePlan::Verdict::run);
    CHECK(plan.reason == Reason::root_zone_used);
    CHECK(plan.dry_at == by_both);
    REQUIRE(plan.book.has_value());
    // It gives what the book lacks then, not what the column does.
    Outlook then = look(*task.spec, task.state, test, planning.now());
    pass(then, planning.hours(), *plan.start, false);
    CHECK(roots_deficit_mm(then, task.needs.wet_depth_mm) < 0.7 * then.book->used_mm);
    const double given_mm =
        (plan.run_s + plan.owed_s) *
        ground_rate_mm_per_h(*task.spec, planning.hours()[static_cast<std::size_t>(
                                             (*plan.start - planning.now()).count() / 3600)]) /
        3600;
    CHECK(given_mm >= then.book->used_mm - 0.01);
    CHECK(given_mm < then.book->used_mm + 0.5);
    const std::string said = explain(plan, task, trial::local_zone(), planning.now());
    CHECK(said.find("the grass would have used ") != std::string::npos);
    CHECK(said.find(" mm that the soil keeps for its roots by ") != std::string::npos);
}

TEST_CASE("root book: carried to another soil the roots have used the same share") {
    const garden::Zone was = lawn(soil::TextureClass::loam);
    const garden::Zone is = lawn(soil::TextureClass::sandy_loam);
    const ZoneSpec spec_was = zone_spec(was);
    const ZoneSpec spec_is = zone_spec(is);
    ZoneState state = initial_state(was, spec_was, 20, local(0, 0));
    CHECK_FALSE(carried(spec_was, state, spec_is, 0).book.has_value());
    state.book = RootBook{6, 1};
    const double depth_mm = roots_mm(spec_was, state.progress);
    const ZoneState now = carried(spec_was, state, spec_is, 0);
    REQUIRE(now.book.has_value());
    CHECK(now.book->used_mm / soil::available_mm(spec_is.column, depth_mm) ==
          doctest::Approx(6 / soil::available_mm(spec_was.column, depth_mm)));
    CHECK(now.book->lent_mm == doctest::Approx(now.book->used_mm / 6));
    CHECK(carried(spec_was, state, spec_was, 0).book == state.book);
}

TEST_CASE("root book: what the soil keeps for the roots is TAW of FAO-56 Eq. 82") {
    const ZoneSpec spec = zone_spec(lawn(soil::TextureClass::loam));
    const soil::Hydraulics& h = spec.column.soil[0]->hydraulics();
    for (const double depth_mm : {6.0, 100.0, 150.0, 220.0})
        CHECK(soil::available_mm(spec.column, depth_mm) ==
              doctest::Approx((h.field_capacity - h.wilting_point) * depth_mm));
}
