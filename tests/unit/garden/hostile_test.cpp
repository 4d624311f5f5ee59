// Torn and hostile garden files: an answer, never a crash, and never a value out of range.
#include "base/random.hpp"
#include "sample.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

std::string example_text() {
    std::ifstream file(std::string(FIRSTMOW_SOURCE_DIR) + "/config/garden.toml", std::ios::binary);
    REQUIRE(file.good());
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

bool within(double value, double low, double high) {
    return value >= low && value <= high;
}

bool sound(const Establishment& establishment) {
    const bool sown = establishment.method == turf::Method::seed ||
                      establishment.method == turf::Method::overseed;
    if (sown && establishment.mix.empty()) return false;
    if (establishment.method != turf::Method::none && !establishment.start) return false;
    double sum = 0;
    for (const MixPart& part : establishment.mix)
        sum += part.share;
    return within(establishment.seed_depth_mm, 1, 25) &&
           (establishment.mix.empty() || std::abs(sum - 1) < 1e-9);
}

// What garden.hpp promises.
bool sound(const Garden& garden) {
    const Supply& supply = garden.supply;
    bool good = within(garden.site.place.latitude_deg, -90, 90) &&
                within(garden.site.place.longitude_deg, -180, 180) &&
                within(garden.site.place.elevation_m, -430, 6000) && !garden.site.name.empty() &&
                !garden.site.timezone.empty() && supply.flow_l_per_min > 0 &&
                !supply.hours.empty() && !garden.zones.empty();
    for (std::size_t i = 0; i < supply.hours.size(); ++i)
        good = good && supply.hours[i].from_s < supply.hours[i].to_s &&
               supply.hours[i].to_s <= 86400 &&
               (i == 0 || supply.hours[i - 1].to_s <= supply.hours[i].from_s);
    for (const Zone& zone : garden.zones)
        good = good && !zone.id.empty() && zone.area_m2 > 0 && within(zone.slope_pct, 0, 100) &&
               within(zone.precipitation_rate_mm_per_h, 0.1, 200) &&
               within(zone.distribution_uniformity, 0.1, 1) &&
               within(zone.soil_below_kpa, -1500, 0) && zone.shortest_run_s <= zone.longest_run_s &&
               within(zone.valve.channel, 1, 999) &&
               zone.flow_l_per_min() <= supply.flow_l_per_min * 1.001 && sound(zone.establishment);
    return good;
}

// A sound garden, or at least one error that is one printable line with a place. True for a
// garden.
bool check_answer(std::string_view text) {
    const auto answer = read(text);
    if (const auto* const garden = std::get_if<Garden>(&answer)) {
        REQUIRE(sound(*garden));
        return true;
    }
    const auto& errors = std::get<std::vector<FileError>>(answer);
    REQUIRE_FALSE(errors.empty());
    for (const FileError& error : errors) {
        REQUIRE_GE(error.line, 1);
        REQUIRE_GE(error.column, 1);
        REQUIRE_FALSE(error.message.empty());
        const bool printable = std::none_of(error.message.begin(), error.message.end(), [](char c) {
            return static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
        });
        REQUIRE_MESSAGE(printable, error.message);
    }
    return false;
}

} // namespace

TEST_CASE("the example cut off at every byte") {
    const std::string text = example_text();
    REQUIRE_GT(text.size(), 4000);
    int gardens = 0;
    for (std::size_t size = 0; size <= text.size(); ++size)
        gardens += check_answer(std::string_view(text).substr(0, size)) ? 1 : 0;
    CHECK_GT(gardens, 0); // whole zones before the cut
    CHECK_LT(gardens, static_cast<int>(text.size()));
}

TEST_CASE("random bytes flipped, lost and doubled") {
    const std::string whole = sample();
    Random random(2026);
    int gardens = 0;
    constexpr int kTrials = 20000;
    for (int trial = 0; trial < kTrials; ++trial) {
        std::string text = whole;
        const int faults = 1 + static_cast<int>(random.bits() % 4);
        for (int i = 0; i < faults; ++i) {
            const std::size_t at = random.bits() % text.size();
            switch (random.bits() % 4) {
            case 0:
                text[at] = static_cast<char>(text[at] ^ static_cast<char>(1U << random.bits() % 8));
                break;
            case 1:
                text[at] = static_cast<char>(random.bits() % 256);
                break;
            case 2:
                text.erase(at, 1 + random.bits() % 20);
                break;
            default:
                text.insert(at, text.substr(random.bits() % text.size(), 1 + random.bits() % 20));
            }
            if (text.empty()) text = "x";
        }
        gardens += check_answer(text) ? 1 : 0;
    }
    // Some faults fall into names and comments and do no harm; most do.
    CHECK_GT(gardens, 0);
    CHECK_LT(gardens, kTrials / 2);
}

TEST_CASE("lines of the example in random order, and words out of place") {
    const auto& lines = sample_lines();
    Random random(7);
    for (int trial = 0; trial < 3000; ++trial) {
        std::string text;
        for (std::size_t i = 0; i < lines.size(); ++i) {
            std::string line = lines[random.bits() % 8 == 0 ? random.bits() % lines.size() : i];
            const std::size_t equals = line.find('=');
            if (equals != std::string::npos && random.bits() % 8 == 0) {
                constexpr std::string_view kValues[] = {"nan",       "-inf",
                                                        "1e308",     "true",
                                                        "{}",        "[]",
                                                        "[[[]]]",    "2026-01-01",
                                                        "'x'",       "''",
                                                        "'1e999 m'", "-9223372036854775808",
                                                        "07:32:00",  "{ a = { b = { c = 1 } } }"};
                line = line.substr(0, equals) + "= ";
                line += kValues[random.bits() % std::size(kValues)];
            }
            text += line + "\n";
        }
        check_answer(text);
    }
}

TEST_CASE("a file that is too long or too deep is refused before it can do harm") {
    const auto first = [](const std::string& text) { return report(errors_of(text)); };
    const std::string long_file(300 * 1024, '#');
    CHECK_EQ(first(long_file), "garden.toml:1:1: the file is longer than 256 KiB; a garden file is "
                               "a few KiB of text\n");
    std::string dotted = "\n[a";
    for (int i = 0; i < 40000; ++i)
        dotted += ".a";
    CHECK_EQ(first(dotted + "]\n"), "garden.toml:2:1: the line has more than 32 dots; fewer would "
                                    "be right, even in a comment\n");
    // 32 dots on each of 200 nested lines is the deepest that reaches the parser.
    std::string nested = "a = [\n";
    for (int i = 0; i < 100; ++i)
        nested += "{a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a = [\n";
    nested += "1";
    for (int i = 0; i < 100; ++i)
        nested += "\n]}";
    CHECK_NE(first(nested + "\n]\n").find("nested more than 8 deep"), std::string::npos);
    for (const char* const bracket : {"[", "{a=", "[&", "[\n", "[.5", "'''", "\"\\u"}) {
        std::string text = "x = ";
        for (int i = 0; i < 5000; ++i)
            text += bracket;
        CAPTURE(bracket);
        CHECK_EQ(errors_of(text).size(), 1);
    }
}

TEST_CASE("a garden with very many faults names them all") {
    std::string text = sample();
    for (int i = 0; i < 3000; ++i)
        text += "wrong_" + std::to_string(i) + " = 1\n";
    CHECK_EQ(errors_of(text).size(), 3000);
}
