// Solar noon, sunrise and sunset against astronomy-engine 2.1.19 (MIT), an ephemeris that shares
// no code with ours; its answers are in sun_ephemeris.csv, made by sun_ephemeris.mjs.
#include "base/text.hpp"
#include "weather/sun.hpp"

#include <cstdlib>
#include <fstream>
#include <set>
#include <string>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

// Seconds between the two; 0 when neither exists, a day when only one does.
std::int64_t apart_s(std::optional<WallTime> ours, std::string_view theirs) {
    if (!ours || theirs.empty()) return ours || !theirs.empty() ? 86400 : 0;
    return std::abs((*ours - parse_iso8601(theirs).value()).count());
}

} // namespace

TEST_CASE("noon, sunrise and sunset agree with the ephemeris") {
    std::ifstream file(FIRSTMOW_SOURCE_DIR "/tests/published/weather/sun_ephemeris.csv");
    REQUIRE(file.is_open());
    std::string line;
    std::getline(file, line);
    REQUIRE_EQ(line, "place,latitude_deg,longitude_deg,date,noon,sunrise,sunset");
    int rows = 0;
    int without_sunrise = 0;
    std::set<std::string> places;
    while (std::getline(file, line)) {
        CAPTURE(line);
        const auto fields = split_commas(line);
        REQUIRE_EQ(fields.size(), 7);
        const Place place{parse_number(fields[1]).value(), parse_number(fields[2]).value(), 0};
        const SunTimes sun = sun_times(place, parse_date(fields[3]).value());
        const bool polar = std::abs(place.latitude_deg) >= 60;
        CHECK_LE(apart_s(sun.noon, fields[4]), 5);
        // 60 s is what is promised; at these places we are well within it.
        CHECK_LE(apart_s(sun.sunrise, fields[5]), polar ? 60 : 20);
        CHECK_LE(apart_s(sun.sunset, fields[6]), polar ? 60 : 20);
        ++rows;
        places.insert(std::string(fields[0]));
        if (!fields[5].empty()) continue;
        ++without_sunrise;
        // The only days without: midsummer and midwinter at 70 N.
        CHECK_EQ(sun.always_up, fields[3] == "2025-06-21");
    }
    CHECK_EQ(rows, 88);
    CHECK_EQ(places.size(), 8);
    CHECK_EQ(without_sunrise, 2);
}
