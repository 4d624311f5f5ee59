#include "review/day.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::review;
using doctest::Approx;

namespace {

const Date kDay = parse_date("2026-08-12").value();
const TimeZone kLocal("Here", {{WallTime{}, Seconds{-5 * 3600}, "X"}});

WallTime at(int hour, int minute = 0) {
    return kLocal.to_wall(kDay, hour * 3600 + minute * 60);
}

garden::Garden two_zones() {
    garden::Garden garden;
    for (const char* id : {"front", "back"}) {
        garden.zones.emplace_back();
        garden.zones.back().id = id;
        garden.zones.back().name = std::string(id == std::string("front") ? "Front" : "Back");
    }
    return garden;
}

engine::Moisture line(const char* zone, WallTime time, double low_kpa, double threshold_kpa) {
    engine::Moisture m;
    m.time = time;
    m.zone = zone;
    m.low_quarter_kpa = low_kpa;
    m.threshold_kpa = threshold_kpa;
    m.evaporation_mm = 0.1;
    m.applied_mm = 0.2;
    m.soil_temp_c = 20;
    return m;
}

engine::WeatherUsed hour(int h, double temp_c, double et_mm, double rain_mm = 0) {
    engine::WeatherUsed used;
    used.hour.start = at(h);
    used.hour.air_temp_c = temp_c;
    used.hour.rain_mm = rain_mm;
    used.et_short_mm = et_mm;
    return used;
}

// A hot day on which the front ran twice and was dry for twenty minutes.
DayRecords hot_day() {
    DayRecords day{kDay, at(0), at(24), {}, {}, {}, {}, {}, {}};
    day.weather = {hour(3, 14, -0.05), hour(9, 25, 0.5), hour(15, 34, 0.9)};
    day.moisture = {line("front", at(9), -40, -100), line("front", at(15), -120, -100),
                    line("front", at(15, 10), -140, -100), line("back", at(15), -500, 0)};
    engine::Cycle cycle;
    cycle.zone = "front";
    cycle.start = at(9) + Seconds{2};
    cycle.end = at(9, 10);
    cycle.run_s = cycle.planned_s = 600;
    cycle.volume_l = 150;
    cycle.reason = "seed_zone_drying";
    day.cycles = {cycle};
    cycle.start = at(15, 20);
    day.cycles.push_back(cycle);
    day.decisions = {
        {at(8), "front", engine::Verdict::plan, at(9), 600, "seed_zone_drying", "Planned."},
        {at(9), "front", engine::Verdict::run, at(9), 600, "seed_zone_drying", "Runs now."},
        {at(13), "front", engine::Verdict::withhold, {}, 0, "on_hold", "Not now: on hold."}};
    return day;
}

DaySummary before(int days, double et_mm) {
    return {add_days(kDay, -days), 24, 26, 12, et_mm, 1, 3, 200, 0, {}};
}

} // namespace

TEST_CASE("a day's sums, its driest moment, and how long it was below its threshold") {
    const DayReview review = review_day(hot_day(), {}, two_zones(), kLocal);
    CHECK(review.air.hours == 3);
    CHECK(review.air.high_c == 34);
    CHECK(review.air.high_at == at(15));
    CHECK(review.air.low_c == 14);
    CHECK(review.air.et_short_mm == Approx(1.4)); // dew does not make up for it
    REQUIRE(review.zones.size() == 2);
    const ZoneDay& front = review.zones[0];
    CHECK(front.evaporation_mm == Approx(0.3));
    CHECK(front.applied_mm == Approx(0.6));
    CHECK(front.volume_l == 300);
    CHECK(front.lowest_kpa == -140);
    CHECK(front.lowest_at == at(15, 10));
    CHECK(front.judged);
    CHECK(front.threshold_kpa == -100);
    CHECK(front.dry_s == 1200);
    // The back is judged by its roots: -500 kPa at the surface is nothing there.
    CHECK_FALSE(review.zones[1].judged);
    CHECK(review.zones[1].dry_s == 0);
    CHECK(review.summary.runs == 2);
    CHECK(review.summary.volume_l == 300);
    CHECK(review.summary.dry_s == 1200);
    CHECK(review.summary.hot());
    CHECK_FALSE(review.summary.cost);
    CHECK_FALSE(review.usual);
}

TEST_CASE("a bed is not called too dry before it is sown, nor on that day before its first water") {
    garden::Garden garden = two_zones();
    DayRecords day = hot_day();
    for (const int h : {6, 1})
        day.moisture.insert(day.moisture.begin(), line("front", at(h), -900, -100));
    day.moisture[0].applied_mm = day.moisture[1].applied_mm = 0;
    const auto front = [&] { return review_day(day, {}, garden, kLocal).zones[0]; };
    CHECK_EQ(front().dry_s, 2400); // nothing is known of a sowing
    CHECK_EQ(front().lowest_kpa, -900);
    garden.zones[0].establishment.start = kDay;
    // The line of 9:00 brings the first water.
    CHECK_EQ(front().dry_s, 1200);
    CHECK_EQ(front().lowest_kpa, -140);
    CHECK(front().judged_from == at(14, 50));
    CHECK_EQ(review_day(day, {}, garden, kLocal).text.find("-900"), std::string::npos);
    garden.zones[0].establishment.start = add_days(kDay, -1);
    CHECK_EQ(front().dry_s, 2400);
    CHECK(front().judged_from == at(0, 50));
    // The last line of a day tells of midnight, when the next begins.
    garden.zones[0].establishment.start = add_days(kDay, 1);
    CHECK_FALSE(front().judged);
    CHECK_EQ(front().dry_s, 0);
}

TEST_CASE("each run has the sentence that began it, each run withheld its own") {
    const DayReview review = review_day(hot_day(), {}, two_zones(), kLocal);
    const ZoneDay& front = review.zones[0];
    REQUIRE(front.runs.size() == 2);
    CHECK(front.runs[0].explanation == "Runs now.");
    CHECK(front.runs[1].explanation.empty()); // nothing was decided near it
    REQUIRE(front.withheld.size() == 1);
    CHECK(front.withheld[0].reason == "on_hold");
}

TEST_CASE("a day is compared with the seven before that have weather") {
    const std::vector<DaySummary> others{
        before(1, 1), before(7, 3), before(8, 100), before(0, 50),
        DaySummary{add_days(kDay, -2), 0, 0, 0, 0, 0, 9, 900, 0, {}}};
    const DayReview review = review_day(hot_day(), others, two_zones(), kLocal);
    REQUIRE(review.usual);
    CHECK(review.usual->et_short_mm == Approx(2));
    CHECK(review.usual->runs == 3);
    CHECK(review.usual->volume_l == Approx(200));
}

TEST_CASE("the paragraph tells the weather, the water, the dryness and what was withheld") {
    garden::Garden garden = two_zones();
    garden.renovation.water_price_per_m3 = 2.5;
    const std::vector<DaySummary> others{before(1, 1.0)};
    const DayReview review = review_day(hot_day(), others, garden, kLocal);
    CHECK(*review.summary.cost == Approx(0.75));
    CHECK(review.text ==
          "A hot day: up to 34 C at 15:00; the air could take 1.4 mm of water, more than the "
          "1.0 mm usual in the days before; no rain. "
          "2 runs brought 300 L (cost 0.75): Front 2 x, 0.6 mm. "
          "Too dry was Front for 20 min (Front: -140 kPa at 15:10, limit -100 kPa). "
          "Once a run was due and not given: Not now: on hold.");

    garden.site.units = garden::Units::us;
    const std::string us = review_day(hot_day(), {}, garden, kLocal).text;
    CHECK(us.starts_with("A hot day: up to 93 F at 15:00; the air could take 0.06 in of water"));
    CHECK(us.find("79 gal") != std::string::npos);
}

TEST_CASE("the paragraph of a quiet day, of assumed weather, and of a day without any record") {
    DayRecords day = hot_day();
    day.moisture = {line("front", at(9), -40, -100), line("back", at(9), -60, -200)};
    day.cycles.clear();
    day.decisions.clear();
    day.weather = {hour(15, 21, 0.4, 3.2)};
    day.weather[0].hour.temp_origin = weather::Origin::assumed;
    day.notices = {{at(16), "", engine::Severity::alarm, "valve_fault", "A valve is stuck."}};
    CHECK(review_day(day, {}, two_zones(), kLocal).text ==
          "Up to 21 C at 15:00; the air could take 0.4 mm of water, and 3.2 mm of rain fell. "
          "1 of 1 hours of weather were not measured but assumed. No water was given. "
          "Every seedbed stayed above its limit all day; driest was Front, -40 kPa at 09:00, "
          "limit -100 kPa. An alarm at 16:00: A valve is stuck.");

    // Sown on that day: judged from the first water on, here that of the lines at 9:00.
    garden::Garden garden = two_zones();
    day.moisture.push_back(line("front", at(9, 10), -40, -100));
    day.moisture.push_back(line("back", at(9, 10), -50, -200));
    const auto told = [&](const std::string& what) {
        const std::string text = review_day(day, {}, garden, kLocal).text;
        INFO(text);
        CHECK(text.find(what) != std::string::npos);
    };
    told("Every seedbed stayed above its limit all day; driest was Front, -40 kPa at 09:00");
    garden.zones[0].establishment.start = kDay;
    told("Every seedbed stayed above its limit all day, or from its first water on (Front at "
         "09:00); "
         "driest was Front, -40 kPa at 09:10");
    garden.zones[1].establishment.start = kDay;
    told("stayed above its limit from its first water on (Front at 09:00, Back at 09:00); ");
    garden.zones[1].establishment.start = add_days(kDay, 1); // its ground is not asked yet
    told("Front stayed above its limit from its first water at 09:00 on; driest -40 kPa at 09:10");

    const DayRecords nothing{kDay, at(0), at(24), {}, {}, {}, {}, {}, {}};
    CHECK(review_day(nothing, {}, two_zones(), kLocal).text ==
          "Nothing is on record for this day.");
}
