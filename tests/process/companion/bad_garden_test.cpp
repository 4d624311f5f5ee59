// Garden files that are wrong: every command refuses them with lines FILE:LINE:COLUMN.
#include "trial_season.hpp"

#include <doctest/doctest.h>

#include <regex>

namespace firstmow::process {

namespace {

std::string replaced(std::string text, const std::string& what, const std::string& by) {
    const auto at = text.find(what);
    REQUIRE(at != std::string::npos);
    return text.replace(at, what.size(), by);
}

// What `check` says; `simulate`, `off` and `firstmowd --check` must say the same.
std::string refused(const Bench& bench, const std::string& garden, int faults = 1) {
    write(bench.place.file("garden.toml"), garden);
    const std::string before = all_below(bench.place.path());
    const Ended check = bench.firstmow({"check", "--garden", "garden.toml"});
    CHECK_MESSAGE(is_refusal(check, faults), check.code, " ", check.err);
    const std::regex place("^garden\\.toml:[0-9]+:[0-9]+: .+");
    for (const std::string& line : lines(check.err))
        CHECK_MESSAGE(std::regex_match(line, place), line);
    for (const Ended& other :
         {bench.simulate("out"), bench.firstmow({"off", "--garden", "garden.toml"}),
          run({kDaemon, "--garden", "garden.toml", "--check"}, bench.place.path()),
          run({kDaemon, "--garden", "garden.toml", "--state-dir", "state", "--listen",
               "127.0.0.1:0"},
              bench.place.path())}) {
        CHECK(other.code == 2);
        CHECK(other.out.empty());
        CHECK(other.err == check.err);
    }
    CHECK((all_below(bench.place.path()) == before));
    return check.err;
}

} // namespace

TEST_CASE("a garden that is wrong is refused with the place of every fault") {
    const Bench bench;
    const std::string good = garden_text();

    std::string said = refused(bench, good.substr(0, good.find("[[zone]]")));
    CHECK(has(said, "zone"));

    said = refused(bench, replaced(good,
                                   "valve = { driver = \"simulated\", channel = 2, "
                                   "file = \"valves.log\" }\n",
                                   ""));
    CHECK(has(said, "valve"));
    CHECK(has(said, "bed"));

    said = refused(bench, replaced(good, "perennial_ryegrass", "perenial_ryegrass"));
    CHECK(has(said, "garden.toml:22:"));
    CHECK(has(said, "perennial_ryegrass")); // what would be right

    said = refused(bench, replaced(good, "\"12 mm/h\"", "12"));
    CHECK(has(said, "mm/h"));
    CHECK(has(said, "in/h"));

    said = refused(bench, replaced(good, "area = \"90 m2\"", "area = = 4"));
    CHECK(has(said, "garden.toml:13:"));

    said =
        refused(bench, replaced(replaced(good, "\"12 mm/h\"", "12"), "\"90 m2\"", "\"90 mm\""), 2);
    CHECK(has(said, "m2"));

    refused(bench, "", 3);
}

TEST_CASE("a garden file that is not there is refused at its beginning") {
    const Bench bench;
    const Ended check = bench.firstmow({"check", "--garden", "none.toml"});
    CHECK_MESSAGE(is_refusal(check), check.err);
    CHECK(has(check.err, "none.toml:1:1: "));
    CHECK(has(check.err, "No such file"));
}

TEST_CASE("a good garden passes, and the examples do") {
    const Bench bench;
    const Ended check = bench.firstmow({"check", "--garden", "garden.toml"});
    CHECK(check.code == 0);
    CHECK(check.err.empty());
    for (const char* example : {"garden.toml", "demo-garden.toml"}) {
        const std::string path = std::string(FIRSTMOW_SOURCE_DIR) + "/config/" + example;
        const Ended passed = bench.firstmow({"check", "--garden", path});
        CHECK_MESSAGE(passed.code == 0, passed.err);
    }
}

} // namespace firstmow::process
