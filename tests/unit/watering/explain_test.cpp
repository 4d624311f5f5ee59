#include "watering/explain.hpp"

#include "trial_task.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::watering;
using firstmow::trial::local;

namespace {

using Verdict = ZonePlan::Verdict;
const WallTime kNow = local(0, 8);

struct Said {
    ZonePlan plan;
    ZoneTask task;
    Said() {
        plan.threshold_kpa = -100;
        plan.depletion = 0.3;
        plan.dry_at = local(0, 14, 20);
        plan.start = local(0, 14, 5);
        plan.run_s = 420;
        plan.looked_until = local(1, 20);
        task.needs.wet_depth_mm = 25;
        task.needs.longest_gap = Seconds{12 * 3600};
    }
    std::string text(Verdict verdict, Reason reason) {
        plan.verdict = verdict;
        plan.reason = reason;
        return explain(plan, task, trial::local_zone(), kNow);
    }
};

} // namespace

TEST_CASE("explain: words for times and lengths") {
    const TimeZone zone = trial::local_zone();
    CHECK(clock_words(local(0, 14, 5), zone, kNow) == "14:05");
    CHECK(clock_words(local(1, 14, 5), zone, kNow) == "Tue 14:05");
    CHECK(clock_words(local(-1, 0), zone, kNow) == "Sun 00:00");
    CHECK(duration_words(45) == "45 s");
    CHECK(duration_words(60) == "1 min");
    CHECK(duration_words(89) == "1 min");
    CHECK(duration_words(420) == "7 min");
    CHECK(duration_words(3600) == "1 h");
    CHECK(duration_words(4800) == "1 h 20 min");
    CHECK(duration_words(3599) == "1 h");
}

TEST_CASE("explain: a run, and why") {
    Said said;
    CHECK(said.text(Verdict::run, Reason::seed_zone_drying) ==
          "Runs 7 min at 14:05: the driest quarter would reach -100 kPa at 14:20; no rain to count "
          "on before Tue 20:00.");
    said.plan.rain_at = local(0, 18);
    said.plan.rain_mm = 2.46;
    said.plan.owed_s = 300;
    said.plan.late = true;
    CHECK(said.text(Verdict::run, Reason::seed_zone_drying) ==
          "Runs 7 min at 14:05: the driest quarter would reach -100 kPa at 14:20; likely rain (2.5 "
          "mm) only from 18:00; 5 min more follow after a soak; sooner was not possible.");
    said = {};
    said.plan.else_at = local(1, 5);
    CHECK(said.text(Verdict::run, Reason::seed_zone_drying) ==
          "Runs 7 min at 14:05: the driest quarter would reach -100 kPa at 14:20; no rain to count "
          "on before Tue 20:00; in the evening, for it could else be watered only at Tue 05:00.");
    said = {};
    said.task.needs.judge_root_zone = true;
    CHECK(said.text(Verdict::run, Reason::root_zone_used) ==
          "Runs 7 min at 14:05: the roots would have used 30 % of their water at 14:20; no rain to "
          "count on before Tue 20:00.");
    said.plan.sinks_until = local(0, 9, 20);
    CHECK(
        said.text(Verdict::run, Reason::root_zone_used) ==
        "Runs 7 min at 14:05: water is sinking to the roots until 09:20; the roots would have used "
        "30 % of their water at 14:20; no rain to count on before Tue 20:00.");
    CHECK(said.text(Verdict::wait, Reason::damp_enough) ==
          "No run is needed before Tue 20:00: water is sinking to the roots until 09:20, then it "
          "stays damp enough.");
    said.plan.sinks_until.reset();
    said.plan.book = BookShare{8.04, 20};
    CHECK(
        said.text(Verdict::run, Reason::root_zone_used) ==
        "Runs 7 min at 14:05: the grass would have used 8.0 of the 20.0 mm that the soil keeps for "
        "its roots by 14:20; no rain to count on before Tue 20:00.");
    said.plan.left_to_rain_mm = 0.4; // not worth a word
    CHECK(said.text(Verdict::run, Reason::root_zone_used).find("room") == std::string::npos);
    said.plan.left_to_rain_mm = 2.04;
    CHECK(
        said.text(Verdict::run, Reason::root_zone_used) ==
        "Runs 7 min at 14:05: the grass would have used 8.0 of the 20.0 mm that the soil keeps for "
        "its roots by 14:20; no rain to count on before Tue 20:00; 2.0 mm of room are left "
        "for rain that may come.");
    said.plan.dry_at = kNow;
    CHECK(said.text(Verdict::withhold, Reason::frost) ==
          "No run although the grass has used 8.0 of the 20.0 mm that the soil keeps for its roots "
          "by "
          "now: it is too cold to water.");
    said = {};
    said.task.needs.judge_root_zone = true;
    CHECK(said.text(Verdict::run, Reason::first_soak) ==
          "Runs 7 min at 14:05: the new bed is wetted through once, 25 mm deep.");
    CHECK(said.text(Verdict::run, Reason::reported_dry) ==
          "Runs 7 min at 14:05: a person says that it is dry on top.");
    CHECK(said.text(Verdict::run, Reason::rest_of_run) ==
          "Runs 7 min at 14:05: the rest of a run that the soil could not take in one go.");
    CHECK(said.text(Verdict::run, Reason::longest_gap) ==
          "Runs 7 min at 14:05: this young grass should not be longer than 12 h without water.");
    // Not more exact than it is.
    const auto gap_said = [&](int hours, int minutes) {
        said.task.needs.longest_gap = Seconds{hours * 3600 + minutes * 60};
        const std::string text = said.text(Verdict::run, Reason::longest_gap);
        const std::string before = "longer than ";
        const std::size_t at = text.find(before) + before.size();
        return text.substr(at, text.find(" without") - at);
    };
    CHECK(gap_said(13, 46) == "14 h");
    CHECK(gap_said(13, 44) == "13.5 h");
    CHECK(gap_said(13, 14) == "13 h");
    CHECK(gap_said(23, 50) == "24 h");
    CHECK(gap_said(37, 46) == "38 h");
    CHECK(gap_said(72, 0) == "72 h");
}

TEST_CASE("explain: no run, and why not") {
    Said said;
    CHECK(said.text(Verdict::wait, Reason::damp_enough) ==
          "No run is needed before Tue 20:00: it stays damp enough.");
    CHECK(said.text(Verdict::wait, Reason::not_started) ==
          "No water yet: this zone is not sown or laid.");
    said.plan.rain_at = local(1, 3);
    said.plan.rain_mm = 4;
    CHECK(said.text(Verdict::wait, Reason::rain_expected) ==
          "No run is needed before Tue 20:00: it stays damp enough, with likely rain (4.0 mm) from "
          "Tue 03:00.");
}

TEST_CASE("explain: a run that is needed and not given") {
    Said said;
    said.task.hold_until = local(0, 20);
    CHECK(
        said.text(Verdict::withhold, Reason::on_hold) ==
        "No run although the driest quarter would reach -100 kPa at 14:20: held by a person until "
        "20:00.");
    said.plan.dry_at = kNow;
    CHECK(said.text(Verdict::withhold, Reason::frost) ==
          "No run although the driest quarter reaches -100 kPa now: it is too cold to "
          "water.");
    CHECK(said.text(Verdict::withhold, Reason::tap_busy) ==
          "No run although the driest quarter reaches -100 kPa now: the tap is taken by "
          "other zones until the hours end.");
    CHECK(said.text(Verdict::withhold, Reason::outside_hours) ==
          "No run although the driest quarter reaches -100 kPa now: the tap may not run in "
          "the next days (see the supply's hours and days).");
}

TEST_CASE("explain: whatever the planner plans can be said in one sentence") {
    for (int hour = 0; hour < 24; hour += 4) {
        trial::Planning planning(
            trial::garden_of({trial::seed_zone("z1"), trial::grown_zone("z2")}), local(2, hour),
            trial::kHot);
        planning.dry_out(1, 100);
        const auto plans = planning.plan();
        for (std::size_t i = 0; i < plans.size(); ++i) {
            const std::string text =
                explain(plans[i], planning.task(i), trial::local_zone(), planning.now());
            CHECK(text.size() > 20);
            CHECK(text.back() == '.');
            CHECK(text.find('\n') == std::string::npos);
        }
    }
}
