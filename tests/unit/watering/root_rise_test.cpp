// What rises from below into a grown-in lawn's book, and what its runs leave to rain.
#include "watering/rain_room.hpp"

#include "trial_task.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::kHour;
using firstmow::trial::local;

namespace {

// Dry to 150 mm, and below it at `below_kpa`.
soil::ColumnState dry_over(const soil::Column& column, double below_kpa) {
    soil::ColumnState state = soil::uniform_state(column, -200);
    const soil::ColumnState below = soil::uniform_state(column, below_kpa);
    for (int i = 0; i < column.layers.count; ++i) {
        const auto k = static_cast<std::size_t>(i);
        if (column.layers.bottom_mm[k] > 150) state.theta[k] = below.theta[k];
    }
    return state;
}

// A night in which nothing comes and nothing goes at the surface.
double rises_mm(const soil::Column& column, soil::ColumnState state, double depth_mm,
                double& by_column_mm) {
    double counted_mm = 0;
    by_column_mm = 0;
    for (int i = 0; i < 24; ++i) {
        const double before_mm = kept_mm(column, state, {}, depth_mm);
        const soil::Flows flows = soil::step(column, state, {}, 900);
        const double after_mm = kept_mm(column, state, {}, depth_mm);
        by_column_mm += after_mm - before_mm + flows.evaporation_mm;
        counted_mm += rise_mm(column, state, depth_mm, flows, before_mm, after_mm);
    }
    return counted_mm;
}

// A grown-in lawn on a loam that has used what it may, at six in the morning of a clear day.
struct Thirsty {
    garden::Zone zone = trial::grown_zone("z1");
    ZoneSpec spec = zone_spec(zone);
    ZoneState state = initial_state(zone, spec, 20, local(0, 0));
    turf::Needs needs = turf::needs(state.progress, local(0, 6));
    DryTest test = dry_test(spec, state.progress, needs);
    std::vector<HourDemand> hours = trial::demands(trial::clear_hours(local(0, 6), 42));
    double may_use_mm = 0;

    Thirsty() {
        may_use_mm = needs.allowed_depletion * soil::available_mm(spec.column, test.depth_mm);
        const soil::Hydraulics& h = spec.column.soil[0]->hydraulics();
        const double used = needs.allowed_depletion * (h.field_capacity - h.wilting_point);
        state.mean = soil::uniform_state(spec.column, h.potential_kpa(h.field_capacity - used));
        state.book = RootBook{may_use_mm, 0};
    }
    double room_mm(double most_mm) const {
        const Outlook now = look(spec, state, test, local(0, 6));
        const double rate = ground_rate_mm_per_h(spec, hours.front());
        return rain_room_mm(now, hours, static_cast<int>(may_use_mm / rate * 3600), most_mm);
    }
    // So much in the afternoon of the first day, or a day later.
    void rain(double mm, double probability, int day = 0) {
        for (std::size_t h = 0; h < 2; ++h) {
            HourDemand& hour = hours[static_cast<std::size_t>(day) * 24 + 9 + h];
            hour.rain_mm_per_h = mm / 2;
            hour.rain_probability = probability;
        }
    }
};

} // namespace

TEST_CASE("root rise: lent up to a bound, and given back of what drains") {
    constexpr double kHolds = 20;
    const double most_mm = most_lent_mm(kHolds);
    REQUIRE(most_mm > 1);
    CHECK(most_mm < kHolds / 4);
    RootBook book{10, 0};
    lend(book, 1, most_mm);
    CHECK(book == RootBook{9, 1});
    lend(book, 100, most_mm); // no more than there is
    CHECK(book.used_mm == doctest::Approx(10 - most_mm));
    CHECK(book.lent_mm == doctest::Approx(most_mm));
    lend(book, 1, most_mm);
    CHECK(book.used_mm == doctest::Approx(10 - most_mm));
    // Water that fills the roots gives nothing back, what is beyond it does so when it drains.
    HourDemand noon;
    noon.start = WallTime{} + 12 * kHour;
    HourDemand midnight;
    midnight.start = WallTime{} + 24 * kHour;
    midnight.hour_angle_rad = 3.1;
    soil::Flows rain;
    rain.supply_mm = book.used_mm + 0.5;
    enter(book, noon, noon.start, rain, kHolds);
    CHECK(book.used_mm == doctest::Approx(-0.5));
    CHECK(book.lent_mm == doctest::Approx(most_mm));
    enter(book, midnight, midnight.start, {}, kHolds);
    CHECK(book.used_mm == 0);
    CHECK(book.lent_mm == doctest::Approx(most_mm - 0.5));
    rain.supply_mm = 30;
    enter(book, noon, noon.start, rain, kHolds);
    // Roots that have all they can hold borrow nothing.
    lend(book, 1, most_mm);
    CHECK(book.lent_mm == doctest::Approx(most_mm - 0.5));
    enter(book, midnight, midnight.start, {}, kHolds);
    CHECK(book == RootBook{0, 0});
}

TEST_CASE("root rise: what the column has of it, out of soil that has drained") {
    for (const auto texture : {soil::TextureClass::loam, soil::TextureClass::silty_clay}) {
        garden::Zone zone = trial::grown_zone("z1");
        zone.soil = texture;
        const ZoneSpec spec = zone_spec(zone);
        double by_column_mm = 0;
        const double drained_mm =
            rises_mm(spec.column, dry_over(spec.column, -34), 150, by_column_mm);
        CHECK(by_column_mm > 0.1);
        CHECK(drained_mm == doctest::Approx(by_column_mm));
        // More would come out of wetter soil, but such soil does not stay so wet.
        double of_wet_mm = 0;
        CHECK(rises_mm(spec.column, dry_over(spec.column, -15), 150, of_wet_mm) == 0);
        CHECK(of_wet_mm > by_column_mm);
        // Nothing rises where it is as dry below, and nothing over the column's foot.
        double none_mm = 0;
        CHECK(rises_mm(spec.column, dry_over(spec.column, -200), 150, none_mm) < 1e-3);
        CHECK(rises_mm(spec.column, dry_over(spec.column, -34), 300, none_mm) == 0);
    }
}

TEST_CASE("root rise: what runs in, off and into the air is not taken for it") {
    const garden::Zone zone = trial::grown_zone("z1");
    const ZoneSpec spec = zone_spec(zone);
    const turf::Progress grown = turf::begin(turf::Method::none, {}, WallTime{});
    const double foot_mm =
        spec.column.layers.bottom_mm.at(static_cast<std::size_t>(spec.column.layers.count - 1));
    ZoneState state = initial_state(zone, spec, 20, local(0, 0));
    auto hours = trial::demands(trial::clear_hours(local(0, 6), 48));
    for (std::size_t h = 5; h < 9; ++h)
        hours[h].rain_mm_per_h = 30;
    double drained_mm = 0;
    double ran_off_mm = 0;
    for (WallTime at = local(0, 6); at < local(2, 6); at += kGrid) {
        const double before_mm = kept_mm(spec.column, state.mean, state.mean_held, foot_mm);
        const auto& hour = hours.at(static_cast<std::size_t>((at - local(0, 6)).count() / 3600));
        const soil::Flows flows = advance(spec, state, hour, 0, kGrid, at + kGrid).mean;
        const double after_mm = kept_mm(spec.column, state.mean, state.mean_held, foot_mm);
        CHECK(rise_mm(spec.column, state.mean, foot_mm, flows, before_mm, after_mm) < 1e-9);
        const double in_mm = flows.supply_mm + flows.dew_mm - flows.runoff_mm;
        const double out_mm = flows.evaporation_mm + flows.transpiration_mm + flows.drainage_mm;
        CHECK(after_mm - before_mm == doctest::Approx(in_mm - out_mm).scale(1));
        drained_mm += flows.drainage_mm;
        ran_off_mm += flows.runoff_mm;
    }
    CHECK(drained_mm > 1);
    CHECK(ran_off_mm > 1);
    CHECK(roots_mm(spec, grown) < foot_mm);
}

TEST_CASE(
    "rain room: none without rain, none for rain that the day drinks, else what would be lost") {
    Thirsty lawn;
    const double most_mm = lawn.may_use_mm / 2;
    REQUIRE(most_mm > 2);
    CHECK(lawn.room_mm(most_mm) == 0);
    lawn.rain(1, 1); // the grass uses more until then
    CHECK(lawn.room_mm(most_mm) < 0.1);
    lawn.rain(40, 1);
    CHECK(lawn.room_mm(most_mm) == doctest::Approx(most_mm).epsilon(0.02));
    // No more than that, however much falls; and no more than it may be.
    CHECK(lawn.room_mm(1) == doctest::Approx(1).epsilon(0.02));
    CHECK(lawn.room_mm(0) == 0);
}

TEST_CASE("rain room: by how likely rain is, and what of such rain came so far") {
    const auto room_mm = [](double mm, double probability, double share) {
        Thirsty lawn;
        lawn.rain(mm, probability);
        for (HourDemand& hour : lawn.hours)
            hour.rain_share = share;
        return lawn.room_mm(lawn.may_use_mm / 2);
    };
    const double sure_mm = room_mm(8, 1, 1);
    CHECK(sure_mm > 0.5);
    CHECK(room_mm(16, 0.5, 1) == doctest::Approx(sure_mm));
    CHECK(room_mm(16, 1, 0.5) == doctest::Approx(sure_mm));
    CHECK(room_mm(8, 0.5, 1) < sure_mm - 0.5);
    // Also such as is too unlikely to wait for.
    CHECK(room_mm(80, 0.2, 1) > 2);
}

TEST_CASE("rain room: the second day's rain finds more room of itself") {
    Thirsty today;
    today.rain(9, 1);
    Thirsty tomorrow;
    tomorrow.rain(9, 1, 1);
    const double most_mm = today.may_use_mm / 2;
    CHECK(today.room_mm(most_mm) > tomorrow.room_mm(most_mm) + 1);
}

TEST_CASE("rain room: a plan leaves it, but not where a person says that it is dry") {
    garden::Zone zone = trial::grown_zone("z1");
    zone.soil_below_kpa = -25; // by its column it lacks little
    trial::Planning planning(trial::garden_of({zone}), local(0, 10));
    ZoneTask& task = planning.task();
    task.last_wetted.reset();
    const double holds_mm =
        soil::available_mm(task.spec->column, roots_mm(*task.spec, task.state.progress));
    const double may_use_mm = task.needs.allowed_depletion * holds_mm;
    task.state.book = RootBook{may_use_mm, 0};
    const auto given_mm = [&] {
        const ZonePlan plan = planning.plan().front();
        REQUIRE(plan.verdict == ZonePlan::Verdict::run);
        return (plan.run_s + plan.owed_s) * task.spec->rate_mm_per_h / 3600;
    };
    const double full_mm = given_mm();
    CHECK(full_mm > 0.95 * may_use_mm);
    for (std::size_t h = 6; h < 9; ++h) {
        planning.weather()[h].rain_mm = 12;
        planning.weather()[h].rain_probability = 0.3; // too little to wait for
    }
    const double less_mm = given_mm();
    CHECK(less_mm < full_mm - 1);
    CHECK(less_mm >= full_mm - may_use_mm / 2 - 0.3);
    task.reported_dry = true;
    CHECK(given_mm() == doctest::Approx(full_mm).epsilon(0.03));
}
