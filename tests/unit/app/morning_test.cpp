// When the day before is told of, by a clock that is played.
#include "app/morning.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>
#include <utility>
#include <vector>

using namespace firstmow;
using firstmow::app::Morning;

namespace {

// A place that is an hour east of Greenwich, two from the last Sunday of March on.
const TimeZone kLocal("Test/Local", {{WallTime{Seconds{0}}, Seconds{3600}, "A"},
                                     {WallTime{Seconds{1774746000}}, Seconds{7200}, "B"},
                                     {WallTime{Seconds{1792890000}}, Seconds{3600}, "A"}});

WallTime at(const char* text) {
    return parse_iso8601(text).value();
}

// A daemon that looks every half minute, and what it told of.
struct Played {
    Played() {
        folder = (std::filesystem::temp_directory_path() / "firstmow-morning-XXXXXX").string();
        REQUIRE(mkdtemp(folder.data()) != nullptr);
        start();
    }
    ~Played() {
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    Played(const Played&) = delete;
    Played& operator=(const Played&) = delete;

    std::string file() const { return folder + "/told-of"; }
    void start() {
        morning = std::make_unique<Morning>(file(), [this](const std::string& text) {
            std::ofstream(file()) << text;
            ++saved;
        });
    }
    void run(const char* from, const char* to) {
        for (WallTime now = at(from); now < at(to); now += Seconds{30})
            if (const auto date = morning->due(now, kLocal)) {
                told.emplace_back(to_iso8601(now), to_string(*date));
                morning->done(*date);
            }
    }

    std::string folder;
    std::unique_ptr<Morning> morning;
    std::vector<std::pair<std::string, std::string>> told;
    int saved = 0;
};

using Told = std::vector<std::pair<std::string, std::string>>;

} // namespace

TEST_CASE(
    "morning: a new daemon has nothing to tell of, then each day at seven of the day before") {
    Played played;
    played.run("2026-08-20T15:00:00Z", "2026-08-24T00:00:00Z");
    CHECK_EQ(played.told, Told{{"2026-08-21T05:00:00Z", "2026-08-20"},
                               {"2026-08-22T05:00:00Z", "2026-08-21"},
                               {"2026-08-23T05:00:00Z", "2026-08-22"}});
}

TEST_CASE("morning: a daemon that is new before seven tells of nothing that day") {
    Played played;
    played.run("2026-08-20T03:00:00Z", "2026-08-21T06:00:00Z");
    CHECK_EQ(played.told, Told{{"2026-08-21T05:00:00Z", "2026-08-20"}});
}

TEST_CASE("morning: seven stays seven when the clocks change") {
    Played played;
    played.run("2026-03-27T12:00:00Z", "2026-03-30T12:00:00Z");
    CHECK_EQ(played.told, Told{{"2026-03-28T06:00:00Z", "2026-03-27"},
                               {"2026-03-29T05:00:00Z", "2026-03-28"},
                               {"2026-03-30T05:00:00Z", "2026-03-29"}});
}

TEST_CASE("morning: a restart neither repeats nor skips a day") {
    Played played;
    played.run("2026-08-20T15:00:00Z", "2026-08-21T05:30:00Z");
    REQUIRE_EQ(played.told.size(), 1);
    played.start();
    played.run("2026-08-21T05:31:00Z", "2026-08-21T20:00:00Z");
    CHECK_EQ(played.told.size(), 1);
    // Off over seven o'clock: told when it is back.
    played.start();
    played.run("2026-08-22T09:10:00Z", "2026-08-22T20:00:00Z");
    CHECK_EQ(played.told.back(),
             std::pair<std::string, std::string>{"2026-08-22T09:10:00Z", "2026-08-21"});
    // Off for days: only yesterday is news.
    played.start();
    played.run("2026-08-27T12:00:00Z", "2026-08-27T20:00:00Z");
    CHECK_EQ(played.told.back().second, "2026-08-26");
    CHECK_EQ(played.told.size(), 3);
}

TEST_CASE("morning: what could not be told yet is due again") {
    Played played;
    played.run("2026-08-20T15:00:00Z", "2026-08-20T16:00:00Z");
    const WallTime seven = at("2026-08-21T05:00:00Z");
    CHECK_EQ(played.morning->due(seven, kLocal), parse_date("2026-08-20").value());
    CHECK_EQ(played.morning->due(seven + Seconds{30}, kLocal), parse_date("2026-08-20").value());
    const int before = played.saved;
    played.morning->done(parse_date("2026-08-20").value());
    CHECK_EQ(played.saved, before + 1);
    CHECK_FALSE(played.morning->due(seven + Seconds{60}, kLocal));
}

TEST_CASE("morning: a file that says nothing sensible is as none") {
    Played played;
    std::ofstream(played.file()) << "the day before yesterday\n";
    played.start();
    CHECK_FALSE(played.morning->due(at("2026-08-21T12:00:00Z"), kLocal));
    CHECK_EQ(played.saved, 1); // from now on
    CHECK(played.morning->due(at("2026-08-22T12:00:00Z"), kLocal));
}

TEST_CASE("morning: a clock that was years ahead does not silence it for years") {
    Played played;
    std::ofstream(played.file()) << "2031-01-01\n";
    played.start();
    CHECK_EQ(played.morning->due(at("2026-08-21T12:00:00Z"), kLocal),
             parse_date("2026-08-20").value());
}

TEST_CASE("morning: a clock that is put back tells of nothing twice") {
    Played played;
    played.run("2026-08-20T15:00:00Z", "2026-08-22T06:00:00Z");
    REQUIRE_EQ(played.told.size(), 2);
    played.run("2026-08-21T05:00:00Z", "2026-08-22T12:00:00Z");
    CHECK_EQ(played.told.size(), 2);
}
