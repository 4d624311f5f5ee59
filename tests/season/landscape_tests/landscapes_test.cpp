// Grown-in landscapes through thirty days under a forecast that errs, judged by an account that
// knows nothing of the engine's soil.
#include "compare/landscape_season.hpp"
#include "sim/world.hpp"
#include "weather/csv.hpp"

#include <fstream>
#include <sstream>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::compare;

namespace {

// The protocol's own conditions: in thirty days 2.5 in of reference ET and 0.4 in of rain at least.
constexpr double kLeastEtMm = 63.5;
constexpr double kLeastRainMm = 10.2;

struct Stretch {
    const char* name;
    weather::Place place;
    int offset_h; // of its local time
    Date first;   // of the thirty days
};

void judge(const weather::Place& place, const TimeZone& local, const sim::SeasonPlan& plan) {
    double rain = 0;
    double et = 0;
    weather::CloudMemory clouds;
    for (const weather::Hour& hour : plan.truth) {
        if (hour.start < plan.from || hour.start >= plan.to) continue;
        rain += hour.rain_mm;
        et += watering::hour_demand(place, hour, clouds).et_short_mm_per_h;
    }
    CHECK(et > kLeastEtMm);
    CHECK(rain > kLeastRainMm);
    const auto judged = run_landscapes(place, local, plan);
    REQUIRE(judged.size() == kLandscapes.size());
    for (std::size_t i = 0; i < judged.size(); ++i) {
        const Account& a = judged[i].account;
        CAPTURE(i);
        MESSAGE(std::string(kLandscapes[i].name), ": asked for ", a.asked_mm, " mm, given ",
                a.applied_mm, ", used ", a.used_mm, ", adequacy ", a.adequacy(), ", excess ",
                a.excess(), ", adequacy of its own roots ", judged[i].own_roots.adequacy());
        CHECK(a.adequacy() >= 0.95);
        CHECK(a.excess() <= 0.05);
        // Grass itself gets what it asks for, by the engine's column ...
        CHECK(a.used_mm > 0.95 * a.asked_mm);
        // ... and by the account of its own roots, as far as can be: the 4 and 6 mm that they can
        // live on in the two sands do not last a hot day, and the tap is shut by day.
        const bool sand = kLandscapes[i].soil == soil::TextureClass::loamy_sand ||
                          kLandscapes[i].soil == soil::TextureClass::sandy_loam;
        CHECK(judged[i].own_roots.adequacy() >= (sand ? 0.88 : 0.98));
    }
}

} // namespace

TEST_CASE("landscapes: the account, by hand") {
    Landscape bed = kLandscapes[0];
    bed.working_storage_mm = 20; // begins with 10
    const auto day = [](double et, double rain, double applied, double runoff = 0) {
        std::vector<AccountHour> hours(24);
        hours[6] = {0, 0, applied, runoff, 0};
        hours[10] = {et / 2, rain, 0, 0, 0};
        hours[14] = {et / 2, 0, 0, 0, 0};
        return hours;
    };
    const auto days = [](std::vector<AccountHour> first, const std::vector<AccountHour>& second) {
        first.insert(first.end(), second.begin(), second.end());
        return first;
    };
    // 0.9 of 10 mm from 10 leaves 1 mm; of the next 9 all but that lacks.
    const Account a = account_of(bed, days(day(10, 0, 0), day(10, 0, 0)));
    CHECK(a.asked_mm == doctest::Approx(18));
    CHECK(a.deficit_mm == doctest::Approx(8));
    CHECK(a.adequacy() == doctest::Approx(10.0 / 18));
    CHECK(a.excess() == 0);
    // Too much rain is nobody's fault, water on a full store is.
    const Account b = account_of(bed, days(day(0, 50, 0), day(2, 0, 5, 1)));
    CHECK(b.excess_mm == doctest::Approx(5 + 1));
    CHECK(b.deficit_mm == 0);
    // What a day's rain brings too much serves the rest of its day, not the next.
    const Account c = account_of(bed, days(day(10, 19, 0), day(25, 0, 0)));
    CHECK(c.deficit_mm == doctest::Approx(22.5 - 20));
    const Account d = account_of(bed, days(day(10, 40, 0), day(25, 0, 0)));
    CHECK(d.deficit_mm == doctest::Approx(22.5 - 20));
}

TEST_CASE("landscapes: 30 invented days of adequacy 95 % or more and excess 5 % or less") {
    std::uint64_t seed = 0;
    SUBCASE("1") {
        seed = 1;
    }
    SUBCASE("2") {
        seed = 2;
    }
    sim::WorldSpec spec;
    spec.place = {41, -90, 210};
    const TimeZone local("trial", {{WallTime{}, Seconds{-6 * 3600}, "-06"}});
    const Date first{std::chrono::year{2026}, std::chrono::July, std::chrono::day{20}};
    spec.from = local.to_wall(first, 0);
    spec.hours = 37 * 24;
    judge(spec.place, local,
          thirty_days(sim::complete_all(spec.place, sim::invent(spec, seed)), local,
                      add_days(first, 2)));
}

TEST_CASE("landscapes: 30 measured days of adequacy 95 % or more and excess 5 % or less") {
    using std::chrono::August;
    using std::chrono::day;
    using std::chrono::year;
    // Where they come from: tests/season/weather/README.md.
    const std::vector<Stretch> stretches{
        {"ithaca_2016", {42.44, -76.25, 374}, -5, Date{year{2016}, August, day{17}}},
        {"dinosaur_2019", {40.24, -108.97, 1847}, -7, Date{year{2019}, August, day{17}}},
        {"newark_2013", {40.683, -74.169, 2}, -5, Date{year{2013}, August, day{3}}},
    };
    for (const Stretch& stretch : stretches) {
        CAPTURE(stretch.name);
        const std::string path =
            std::string(FIRSTMOW_SOURCE_DIR) + "/tests/season/weather/" + stretch.name + ".csv";
        std::ifstream file(path);
        std::ostringstream text;
        text << file.rdbuf();
        const weather::CsvReadings csv = weather::read_csv(text.str());
        REQUIRE(csv.faults.empty());
        REQUIRE(csv.readings.size() == 37 * 24);
        const TimeZone local("site", {{WallTime{}, Seconds{stretch.offset_h * 3600}, "site"}});
        judge(stretch.place, local,
              thirty_days(sim::complete_all(stretch.place, csv.readings), local, stretch.first));
    }
}
