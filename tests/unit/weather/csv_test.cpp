#include "base/random.hpp"
#include "weather/csv.hpp"

#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

namespace {

std::string file_of(const std::vector<std::string>& lines) {
    std::string text(kCsvHeader);
    for (const std::string& line : lines)
        text += "\n" + line;
    return text + "\n";
}

// An hour of the afternoon of 22 August 2026, without fault.
std::string good(int hour) {
    return "2026-08-22T" + std::to_string(hour) + ":00:00Z,27.4,41.0,2.10,640.0,0.000";
}

// The only fault of a file whose second data line is `line`.
CsvFault only_fault(const std::string& line) {
    const CsvReadings read = read_csv(file_of({good(12), line, good(14)}));
    REQUIRE_EQ(read.faults.size(), 1);
    CHECK_EQ(read.faults[0].line, 3);
    return read.faults[0];
}

bool says(const CsvFault& fault, std::string_view words) {
    CAPTURE(fault.message);
    return fault.message.find(words) != std::string::npos;
}

} // namespace

TEST_CASE("a good file is read whole; an empty field is no value") {
    const CsvReadings read = read_csv(file_of({good(12), "2026-08-22T13:00:00Z,,,,,"}));
    CHECK(read.faults.empty());
    REQUIRE_EQ(read.readings.size(), 2);
    const Reading& first = read.readings[0];
    CHECK_EQ(to_iso8601(first.start), "2026-08-22T12:00:00Z");
    CHECK_EQ(first.air_temp_c, 27.4);
    CHECK_EQ(first.rel_humidity_pct, 41.0);
    CHECK_EQ(first.wind_2m_m_s, 2.10);
    CHECK_EQ(first.solar_w_m2, 640.0);
    CHECK_EQ(first.rain_mm, 0.0);
    Reading bare;
    bare.start = first.start + std::chrono::hours{1};
    CHECK_EQ(read.readings[1], bare);
}

TEST_CASE(
    "line ends of either kind, a mark at the start and a last line without its end are fine") {
    std::string text =
        "\xEF\xBB\xBF" + std::string(kCsvHeader) + "\r\n" + good(12) + "\r\n" + good(13);
    CHECK(read_csv(text).faults.empty());
    CHECK_EQ(read_csv(text).readings.size(), 2);
    text += "\r\n\r\n\n";
    CHECK(read_csv(text).faults.empty());
    CHECK_EQ(read_csv(text).readings.size(), 2);
    CHECK(read_csv(std::string(kCsvHeader)).faults.empty());
}

TEST_CASE("the limits of every value are in, a step beyond is out") {
    const auto faults = [](const std::string& values) {
        return read_csv_line("2026-08-22T13:00:00Z," + values, std::nullopt).faults.size();
    };
    CHECK_EQ(faults("-60,0,0,0,0"), 0);
    CHECK_EQ(faults("60,100,60,1500,200"), 0);
    CHECK_EQ(faults("-60.1,-0.1,-0.1,-0.1,-0.1"), 5);
    CHECK_EQ(faults("60.1,100.1,60.1,1500.1,200.1"), 5);
}

TEST_CASE("a value that is no number is a fault at its own column") {
    for (const std::string wrong :
         {"nan", "NaN", "inf", "-inf", "Infinity", "1e999", "abc", " 1", "0x10", "1.2.3", "-"}) {
        CAPTURE(wrong);
        const CsvFault fault = only_fault("2026-08-22T13:00:00Z,27.4," + wrong + ",2.10,640.0,0.0");
        CHECK_EQ(fault.column, 27);
        CHECK(says(fault, "'" + wrong + "'"));
        CHECK(says(fault, "rel_humidity_pct"));
        CHECK(says(fault, "leave the field empty"));
    }
}

TEST_CASE("a value that cannot be says what can be") {
    const CsvFault fault = only_fault("2026-08-22T13:00:00Z,81.3,41.0,2.10,640.0,0.000");
    CHECK_EQ(fault.column, 22);
    CHECK(says(fault, "air_temp_c"));
    CHECK(says(fault, "between -60 and 60"));
}

TEST_CASE("all faults of a line and of a file are reported, each in its place") {
    const CsvReadings read =
        read_csv(file_of({"2026-08-22T12:00:00Z,x,41.0,-1,640.0,0.000", good(13),
                          "2026-08-22T14:00:00Z,27,41.0,2.0,640.0,999"}));
    REQUIRE_EQ(read.faults.size(), 3);
    CHECK_EQ(located("w.csv", read.faults[0]).substr(0, 12), "w.csv:2:22: ");
    CHECK_EQ(located("w.csv", read.faults[1]).substr(0, 12), "w.csv:2:29: ");
    CHECK_EQ(located("w.csv", read.faults[2]).substr(0, 12), "w.csv:4:40: ");
    REQUIRE_EQ(read.readings.size(), 1); // and the good line is there
    CHECK_EQ(to_iso8601(read.readings[0].start), "2026-08-22T13:00:00Z");
}

TEST_CASE("a torn line and one with too much are told apart") {
    const CsvFault torn = only_fault("2026-08-22T13:00:00Z,27.4,41.0");
    CHECK(says(torn, "3 fields where 6 belong"));
    CHECK(says(torn, "torn"));
    CHECK_EQ(torn.column, 31);
    CHECK(says(only_fault("2026-08-2"), "1 field where 6 belong"));
    const CsvFault long_one = only_fault("2026-08-22T13:00:00Z,27,4,41.0,2.10,640.0,0.000");
    CHECK(says(long_one, "7 fields where 6 belong"));
    CHECK_EQ(long_one.column, 43);
}

TEST_CASE("a time must be a full hour of UTC") {
    for (const std::string wrong :
         {"2026-08-22 13:00:00Z", "2026-08-22T13:00:00", "2026-08-22T13:00:00+02:00",
          "2026-02-30T13:00:00Z", "22.08.2026", "", "1787404800"}) {
        CAPTURE(wrong);
        const CsvFault fault = only_fault(wrong + ",27.4,41.0,2.10,640.0,0.000");
        CHECK_EQ(fault.column, 1);
        CHECK(says(fault, "2026-08-22T13:00:00Z"));
    }
    const CsvFault half = only_fault("2026-08-22T13:30:00Z,27.4,41.0,2.10,640.0,0.000");
    CHECK(says(half, "not a full hour"));
    CHECK(says(half, "2026-08-22T13:00:00Z"));
}

TEST_CASE("time goes forward only") {
    const CsvReadings twice = read_csv(file_of({good(12), good(13), good(13), good(14)}));
    REQUIRE_EQ(twice.faults.size(), 1);
    CHECK_EQ(twice.faults[0].line, 4);
    CHECK(says(twice.faults[0], "twice"));
    CHECK_EQ(twice.readings.size(), 3);

    const CsvReadings back = read_csv(file_of({good(12), good(13), good(11), good(14)}));
    REQUIRE_EQ(back.faults.size(), 1);
    CHECK_EQ(back.faults[0].line, 4);
    CHECK(says(back.faults[0], "backwards"));
    CHECK(says(back.faults[0], "2026-08-22T11:00:00Z"));
    CHECK_EQ(back.readings.size(), 3);
}

TEST_CASE("missing hours are counted and named, and the line after them is kept") {
    const CsvReadings read = read_csv(file_of({good(12), good(16), good(18)}));
    REQUIRE_EQ(read.faults.size(), 2);
    CHECK_EQ(read.faults[0].line, 3);
    CHECK(says(read.faults[0], "3 hours are missing"));
    CHECK(says(read.faults[0], "2026-08-22T13:00:00Z to 2026-08-22T15:00:00Z"));
    CHECK(says(read.faults[0], "empty fields"));
    CHECK(says(read.faults[1], "1 hour is missing"));
    CHECK_EQ(read.readings.size(), 3);
}

TEST_CASE("a line whose time cannot be read stands for an hour, and for one only") {
    const std::string unread = "yesterday,27.4,41.0,2.10,640.0,0.000";
    CHECK_EQ(read_csv(file_of({good(12), unread, good(14)})).faults.size(), 1);
    CHECK_EQ(read_csv(file_of({good(12), unread, good(13)})).faults.size(), 1);
    CHECK_EQ(read_csv(file_of({good(12), unread, good(15)})).faults.size(), 2);
    // A line with a wrong value has its hour all the same.
    CHECK_EQ(read_csv(file_of({good(12), "2026-08-22T13:00:00Z,x,,,,", good(14)})).faults.size(),
             1);
    CHECK_EQ(read_csv(file_of({good(12), "", good(13)})).faults.size(), 1);
}

TEST_CASE("the header is held to, and a file without one is still read") {
    CHECK(says(read_csv("").faults.at(0), "the file is empty"));
    CHECK(says(read_csv("\n\n").faults.at(0), "the file is empty"));

    const CsvReadings none = read_csv(good(12) + "\n" + good(13) + "\n");
    REQUIRE_EQ(none.faults.size(), 1);
    CHECK(says(none.faults[0], "the header is missing"));
    CHECK_EQ(none.readings.size(), 2);

    const CsvReadings misnamed =
        read_csv("time,air_temp_c,humidity,wind_2m_m_s,solar_w_m2,rain_mm\n" + good(12) + "\nx\n");
    REQUIRE_EQ(misnamed.faults.size(), 2);
    CHECK_EQ(misnamed.faults[0].line, 1);
    CHECK_EQ(misnamed.faults[0].column, 17);
    CHECK(says(misnamed.faults[0], "'humidity' where 'rel_humidity_pct' belongs"));
    CHECK(says(misnamed.faults[0], kCsvHeader));
    CHECK_EQ(misnamed.faults[1].line, 3);
    CHECK(misnamed.readings.empty()); // nobody knows what stood in its columns

    CHECK(says(read_csv("time,air_temp_c").faults.at(0), "2 columns where 6 belong"));
    CHECK(says(read_csv(std::string(kCsvHeader) + ",uv").faults.at(0), "7 columns"));
}

TEST_CASE("a single line can be read on its own, as a file grows") {
    const WallTime noon = parse_iso8601("2026-08-22T12:00:00Z").value();
    CHECK(read_csv_line(good(13), noon).reading.has_value());
    CHECK(read_csv_line(good(13) + "\r", noon).faults.empty());
    CHECK(read_csv_line(good(13), std::nullopt).reading.has_value());

    const CsvLine gap = read_csv_line(good(15), noon);
    CHECK_EQ(gap.faults.size(), 1);
    CHECK(gap.reading.has_value());
    const CsvLine back = read_csv_line(good(11), noon);
    CHECK_EQ(back.faults.size(), 1);
    CHECK_FALSE(back.reading.has_value());
    CHECK_FALSE(back.hour.has_value());
    const CsvLine bad_value = read_csv_line("2026-08-22T13:00:00Z,x,,,,", noon);
    CHECK_FALSE(bad_value.reading.has_value());
    CHECK_EQ(bad_value.hour, noon + std::chrono::hours{1});
}

TEST_CASE("a huge line is not looked into, and faults without end are cut short") {
    const std::string huge(10'000'000, ',');
    const CsvReadings read = read_csv(file_of({good(12), huge, good(14)}));
    REQUIRE_EQ(read.faults.size(), 1);
    CHECK(says(read.faults[0], "10000000 bytes"));
    CHECK_EQ(read.readings.size(), 2);
    CHECK_LT(read_csv(huge).faults.at(0).message.size(), 300);

    const CsvReadings bad = read_csv(file_of(std::vector<std::string>(5000, "x")));
    CHECK_EQ(bad.faults.size(), kMostFaults + 1);
    CHECK(says(bad.faults.back(), "the rest of the file was not read"));
}

TEST_CASE("messages hold nothing that upsets a terminal") {
    const CsvFault fault = only_fault("2026-08-22T13:00:00Z,\x1b[2J\x07,41.0,2.10,640.0,0.000");
    CHECK(says(fault, "'?[2J?'"));
}

TEST_CASE("any bytes at all can be read") {
    Random random(7);
    const std::string source = file_of({good(12), good(13), good(14), good(15)});
    constexpr std::string_view kNasty("\0\n\r,,-.eEnaif9Z:T\xff\x80\"", 21);
    for (int round = 0; round < 5000; ++round) {
        std::string text = source;
        const int changes = 1 + static_cast<int>(random.uniform(0, 8));
        for (int i = 0; i < changes; ++i) {
            const auto at = static_cast<std::size_t>(random.uniform(0, double(text.size())));
            const auto pick = static_cast<std::size_t>(random.uniform(0, double(kNasty.size())));
            if (random.uniform() < 0.3) {
                text.erase(at, pick * 3);
            } else {
                text[at] = kNasty[pick];
            }
            if (text.empty()) text = ",";
        }
        const CsvReadings read = read_csv(text);
        WallTime last = WallTime::min();
        for (const Reading& reading : read.readings) {
            REQUIRE_GT(reading.start, last);
            last = reading.start;
            if (reading.air_temp_c) REQUIRE_LE(std::abs(*reading.air_temp_c), 60);
            if (reading.rain_mm) REQUIRE_GE(*reading.rain_mm, 0);
        }
        for (const CsvFault& fault : read.faults) {
            REQUIRE_GE(fault.line, 1);
            REQUIRE_GE(fault.column, 1);
            REQUIRE_EQ(fault.message.find('\n'), std::string::npos);
        }
    }
}
