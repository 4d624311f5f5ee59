// Weather files that are wrong: refused whole, with the place of every fault, and nothing written.
#include "trial_season.hpp"

#include <doctest/doctest.h>

namespace firstmow::process {

namespace {

// The weather with line `line` (from 1) replaced; an empty text takes the line out.
std::string with_line(const std::string& csv, std::size_t line, const std::string& text) {
    std::string out;
    const auto all = lines(csv);
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (i + 1 != line)
            out += all[i] + "\n";
        else if (!text.empty())
            out += text + "\n";
    }
    return out;
}

// What `simulate` and `et` say of this weather; both must refuse it alike.
std::string refused(const Bench& bench, const std::string& csv, int faults = 1) {
    write(bench.place.file("weather.csv"), csv);
    const std::string before = all_below(bench.place.path());
    const Ended season = bench.simulate("out");
    CHECK_MESSAGE(is_refusal(season, faults), season.code, " ", season.err);
    const Ended et = bench.firstmow({"et", "--weather", "weather.csv", "--latitude", "41.9",
                                     "--longitude", "-93.6", "--elevation", "290"});
    CHECK_MESSAGE(is_refusal(et, faults), et.code, " ", et.err);
    CHECK(et.err == season.err);
    CHECK((all_below(bench.place.path()) == before));
    return season.err;
}

} // namespace

TEST_CASE("weather that is wrong is refused with the place of the fault") {
    const Bench bench;
    const std::string good = content_of(bench.place.file("weather.csv"));
    const auto at = lines(good);

    std::string said = refused(bench, with_line(good, 30, at[29].substr(0, 30)));
    CHECK(has(said, "weather.csv:30:"));
    CHECK(has(said, "torn"));

    // The last line cut off, as a full disk leaves it.
    said = refused(bench, good.substr(0, good.size() - 12));
    CHECK(has(said, "weather.csv:151:"));

    said = refused(bench, with_line(with_line(good, 41, ""), 40, ""));
    CHECK(has(said, "weather.csv:40:1: 2 hours are missing"));

    said = refused(bench, with_line(good, 50, "2026-08-22T00:00:00Z,nan,50,1,0,0"));
    CHECK(has(said, "weather.csv:50:22:"));
    CHECK(has(said, "'nan'"));

    said = refused(bench, with_line(good, 60, at[19]), 2); // back, and then a hole
    CHECK(has(said, "weather.csv:60:1: time goes backwards"));

    said = refused(bench, with_line(good, 1, "time,temperature"), 1);
    CHECK(has(said, "weather.csv:1:6: the header has 'temperature'"));

    said = refused(bench, "");
    CHECK(has(said, "weather.csv:1:1: the file is empty"));

    said = refused(bench, lines(good).front() + "\n");
    CHECK(has(said, "holds no hour of weather"));

    // Several faults: a line each.
    said = refused(
        bench, with_line(with_line(good, 20, at[19] + ",9"), 30, at[29].substr(0, 20) + ",,,"), 2);
    CHECK(has(said, "weather.csv:20:"));
    CHECK(has(said, "weather.csv:30:"));
}

TEST_CASE("weather that cannot be read is refused") {
    const Bench bench;
    const auto refusal = [&](const std::string& file) {
        const std::string before = all_below(bench.place.path());
        const Ended et = bench.firstmow({"et", "--weather", file, "--latitude", "41.9",
                                         "--longitude", "-93.6", "--elevation", "290"});
        CHECK_MESSAGE(is_refusal(et), et.code, " ", et.err);
        CHECK((all_below(bench.place.path()) == before));
        return et.err;
    };
    CHECK(has(refusal("none.csv"), "none.csv: No such file"));
    CHECK(has(refusal("/"), "/: Is a directory"));
}

} // namespace firstmow::process
