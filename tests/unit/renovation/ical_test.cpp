#include "renovation/ical.hpp"

#include "rig.hpp"

#include <doctest/doctest.h>

#include <set>
#include <string>
#include <vector>

using namespace firstmow;
using namespace firstmow::renovation;

namespace {

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::size_t begin = 0;
    while (begin < text.size()) {
        const std::size_t end = text.find("\r\n", begin);
        REQUIRE(end != std::string::npos);
        lines.push_back(text.substr(begin, end - begin));
        begin = end + 2;
    }
    return lines;
}

// Folded lines put together again (RFC 5545, 3.1).
std::vector<std::string> unfolded(const std::string& text) {
    std::vector<std::string> whole;
    for (const std::string& line : lines_of(text)) {
        if (line.starts_with(' ')) {
            REQUIRE_FALSE(whole.empty());
            whole.back() += line.substr(1);
        } else {
            whole.push_back(line);
        }
    }
    return whole;
}

bool begins_inside_character(const std::string& line) {
    const std::size_t first = line.starts_with(' ') ? 1U : 0U;
    return first < line.size() && (static_cast<unsigned char>(line[first]) & 0xC0U) == 0x80U;
}

} // namespace

TEST_CASE("text is escaped: backslash, semicolon, comma, line break; control characters go") {
    CHECK_EQ(ical_escaped("a\\b;c,d\ne"), "a\\\\b\\;c\\,d\\ne");
    CHECK_EQ(ical_escaped("a\r\nb\x01\x7f"), "a\\nb");
    CHECK_EQ(ical_escaped("a: \"b\""), "a: \"b\"");
}

TEST_CASE("lines are folded at 75 octets, never inside of a character") {
    CHECK_EQ(ical_folded("SHORT:x"), "SHORT:x\r\n");
    CHECK_EQ(ical_folded(std::string(75, 'a')), std::string(75, 'a') + "\r\n");
    CHECK_EQ(ical_folded(std::string(76, 'a')), std::string(75, 'a') + "\r\n a\r\n");
    // Every alignment of two-, three- and four-octet characters against the fold.
    for (const char* const character : {"\u00e4", "\u8349", "\U0001F331"})
        for (std::size_t lead = 0; lead < 8; ++lead) {
            std::string line(lead, 'x');
            for (int i = 0; i < 100; ++i)
                line += character;
            const std::string folded = ical_folded(line);
            for (const std::string& part : lines_of(folded)) {
                CHECK_LE(part.size(), 75);
                CHECK_FALSE(begins_inside_character(part));
            }
            REQUIRE_EQ(unfolded(folded).size(), 1);
            CHECK_EQ(unfolded(folded)[0], line);
        }
}

TEST_CASE("a calendar is one VCALENDAR of whole events with UIDs of their own") {
    garden::Garden garden = garden_of({zone_of(turf::Method::seed, day(2026, 8, 22)),
                                       zone_of(turf::Method::sod, day(2026, 9, 5)),
                                       zone_of(turf::Method::overseed, day(2026, 8, 20))});
    garden.zones[1].id = "strip";
    garden.zones[2].id = "side";
    garden.zones[2].name = "Seite; \u00e4u\u00dferste, ganz hinten";
    const Plan plan = plan_dates(garden, {});
    const std::string text = ical(plan);
    const std::vector<std::string> lines = unfolded(text);
    REQUIRE_GE(lines.size(), 4);
    CHECK_EQ(lines.front(), "BEGIN:VCALENDAR");
    CHECK_EQ(lines[1], "VERSION:2.0");
    CHECK(lines[2].starts_with("PRODID:"));
    CHECK_EQ(lines.back(), "END:VCALENDAR");
    std::set<std::string> uids;
    std::size_t begins = 0;
    std::size_t ends = 0;
    for (const std::string& line : lines) {
        begins += line == "BEGIN:VEVENT" ? 1U : 0U;
        ends += line == "END:VEVENT" ? 1U : 0U;
        if (line.starts_with("UID:")) CHECK(uids.insert(line).second);
        // The first start of the garden file: no clock was read.
        if (line.starts_with("DTSTAMP:")) CHECK_EQ(line, "DTSTAMP:20260820T000000Z");
        if (line.starts_with("DTSTART")) CHECK(line.starts_with("DTSTART;VALUE=DATE:20"));
    }
    CHECK_EQ(begins, plan.events.size());
    CHECK_EQ(ends, begins);
    CHECK_EQ(uids.size(), begins);
    CHECK_EQ(text, ical(plan_dates(garden, {})));
    CHECK(text.find("SUMMARY:Seite\\; ") != std::string::npos);
}

TEST_CASE("an event of some days ends on the day after its last") {
    const std::vector<Event> events = {
        {day(2026, 12, 30), 3, "front", "settle", "Front: settle", ""}};
    const std::string text = ical("g", events, wall_from_unix(0));
    CHECK(text.find("DTSTART;VALUE=DATE:20261230\r\nDTEND;VALUE=DATE:20270102\r\n") !=
          std::string::npos);
    CHECK(text.find("DTSTAMP:19700101T000000Z\r\n") != std::string::npos);
    CHECK(text.find("DESCRIPTION") == std::string::npos);
}
