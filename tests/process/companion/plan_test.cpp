// The renovation plan from outside: text, calendar and JSON, in both systems of units.
#include "trial_season.hpp"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

namespace firstmow::process {

namespace {

using Json = nlohmann::json;

std::string with_units(const std::string& units) {
    std::string text = garden_text();
    text.replace(text.find("[supply]"), 0, "units = \"" + units + "\"\nfirst_frost = \"10-07\"\n");
    return text;
}

const Json* event(const Json& plan, const std::string& key) {
    for (const Json& one : plan["events"])
        if (one["key"] == key) return &one;
    return nullptr;
}

} // namespace

TEST_CASE("plan prints the dates, the shopping list and the cautions, in the site's units") {
    const Bench bench;
    write(bench.place.file("garden.toml"), with_units("metric"));
    const Ended metric = bench.firstmow({"plan", "--garden", "garden.toml"});
    REQUIRE_MESSAGE(metric.code == 0, metric.err);
    CHECK(metric.err.empty());
    for (const char* piece :
         {"Front lawn: sow anew on 2026-08-22", "First green: 2026-0", "All up: 2026-0",
          "To buy, for 90 m2", "perennial ryegrass", "Starter 16-16-16",
          "Water until the first mow", "Can the tap keep it damp?", "Cautions", "label is the law"})
        CHECK_MESSAGE(has(metric.out, piece), piece, "\n", metric.out);
    CHECK_FALSE(has(metric.out, " lb"));
    for (const std::string& line : lines(metric.out))
        CHECK_MESSAGE(line.size() <= 110, line);

    write(bench.place.file("garden.toml"), with_units("us"));
    const Ended us = bench.firstmow({"plan", "--garden", "garden.toml"});
    REQUIRE_MESSAGE(us.code == 0, us.err);
    CHECK(has(us.out, " lb"));
    CHECK(has(us.out, " in"));
    CHECK_FALSE(has(us.out, " kg"));
    // The same again, to the byte.
    CHECK(bench.firstmow({"plan", "--garden", "garden.toml"}).out == us.out);
}

TEST_CASE("plan as JSON is the same plan, metric whatever the site reads") {
    const Bench bench;
    write(bench.place.file("garden.toml"), with_units("metric"));
    const Ended metric = bench.firstmow({"plan", "--garden", "garden.toml", "--json"});
    write(bench.place.file("garden.toml"), with_units("us"));
    const Ended us = bench.firstmow({"plan", "--garden", "garden.toml", "--json"});
    REQUIRE_MESSAGE(metric.code == 0, metric.err);
    REQUIRE(us.code == 0);
    const Json plan = Json::parse(metric.out);
    REQUIRE_EQ(plan["zones"].size(), 1); // the old bed is not being established
    const Json& zone = plan["zones"][0];
    CHECK_EQ(zone["id"], "front");
    CHECK(zone["all_up"]["early"] <= zone["all_up"]["usual"]);
    CHECK(zone["all_up"]["usual"] <= zone["all_up"]["late"]);
    CHECK(zone["first_green"]["usual"] < zone["all_up"]["usual"]);
    CHECK_GT(zone["quantities"]["seed"][0]["bulk_kg"].get<double>(), 1.0);
    CHECK(zone["quantities"]["water_with_rain_l"].is_null()); // no record of rain
    for (const char* key : {"order", "kill", "till", "sow", "first_green", "all_up", "skip_water",
                            "first_mow", "keep_off", "frost_50"})
        CHECK_MESSAGE(event(plan, key) != nullptr, key);
    CHECK_EQ((*event(plan, "sow"))["day"], "2026-08-22");
    CHECK(Json::parse(us.out)["zones"][0]["quantities"] == zone["quantities"]);
}

TEST_CASE("plan reads a record of days with rain, and says where one is wrong") {
    const Bench bench;
    write(bench.place.file("garden.toml"),
          with_units("metric") + "[renovation]\ndaily_record = \"days.csv\"\n");
    std::string record = "date,min_temp_c,max_temp_c,rain_mm\n";
    WallTime day = *parse_iso8601("2020-01-01T00:00:00Z");
    for (int i = 0; i < 366 * 6; ++i, day += Seconds{86400}) {
        const std::string date = to_iso8601(day).substr(0, 10);
        const bool winter = date.substr(5, 2) < "04" || date.substr(5, 2) > "10";
        record += date + (winter ? ",-5,5," : ",10,24,") + (i % 3 == 0 ? "6" : "0") + "\n";
    }
    write(bench.place.file("days.csv"), record);
    const Ended plan = bench.firstmow({"plan", "--garden", "garden.toml"});
    REQUIRE_MESSAGE(plan.code == 0, plan.err);
    CHECK(has(plan.out, "years of record"));
    CHECK(has(plan.out, "With the usual rain about"));
    write(bench.place.file("days.csv"), record + "2026-02-30,1,2,wet\n");
    const Ended wrong = bench.firstmow({"plan", "--garden", "garden.toml"});
    CHECK_EQ(wrong.code, 2);
    CHECK(has(wrong.err, "days.csv: line "));
    CHECK(wrong.out.empty());
}

TEST_CASE("plan writes a calendar, or nothing when it cannot") {
    const Bench bench;
    write(bench.place.file("garden.toml"), with_units("us"));
    const Ended plan = bench.firstmow({"plan", "--garden", "garden.toml", "--out", "plan.ics"});
    REQUIRE_MESSAGE(plan.code == 0, plan.err);
    const std::string calendar = content_of(bench.place.file("plan.ics"));
    CHECK(calendar.starts_with("BEGIN:VCALENDAR\r\n"));
    CHECK(calendar.ends_with("END:VCALENDAR\r\n"));
    CHECK_EQ(count(calendar, "BEGIN:VEVENT"), count(calendar, "END:VEVENT"));
    CHECK_GT(count(calendar, "BEGIN:VEVENT"), 10);
    CHECK(has(calendar, "DTSTART;VALUE=DATE:20260822"));
    const Ended nowhere =
        bench.firstmow({"plan", "--garden", "garden.toml", "--out", "none/plan.ics"});
    CHECK_EQ(nowhere.code, 1);
    CHECK(has(nowhere.err, "none/plan.ics"));
    CHECK(nowhere.out.empty());
}

} // namespace firstmow::process
