// Writing the weather CSV: byte for byte, and back through the strict reader.
#include "weather/csv.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::weather;

TEST_CASE("readings are written as the weather CSV, absent values as empty fields") {
    const WallTime start = parse_iso8601("2026-08-22T13:00:00Z").value();
    const std::vector<Reading> readings = {
        {start, 27.4, 41.0, 2.1, 640.0, 0.0},
        {start + std::chrono::hours{1}, {}, {}, {}, {}, 1.25},
        {start + std::chrono::hours{2}, -0.001, 99.96, 0.0, 0.0, {}},
    };
    CHECK(write_csv(readings) == "time,air_temp_c,rel_humidity_pct,wind_2m_m_s,solar_w_m2,rain_mm\n"
                                 "2026-08-22T13:00:00Z,27.40,41.0,2.10,640.0,0.000\n"
                                 "2026-08-22T14:00:00Z,,,,,1.250\n"
                                 "2026-08-22T15:00:00Z,0.00,100.0,0.00,0.0,\n");
    CHECK(write_csv({}) == std::string(kCsvHeader) + "\n");
}

TEST_CASE("what was written is read again") {
    const WallTime start = parse_iso8601("2026-08-22T23:00:00Z").value();
    const std::vector<Reading> readings = {
        {start, 21.25, 88.5, 0.75, 0.0, 12.125},
        {start + std::chrono::hours{1}, 20.5, {}, 0.5, {}, 0.0},
    };
    const CsvReadings read = read_csv(write_csv(readings));
    CHECK(read.faults.empty());
    CHECK(read.readings == readings);
}

TEST_CASE("a soil temperature has a seventh column, in files that have one") {
    const WallTime start = parse_iso8601("2026-08-22T23:00:00Z").value();
    std::vector<Reading> readings = {
        {start, 21.25, 88.5, 0.75, 0.0, 12.125},
        {start + std::chrono::hours{1}, 20.5, {}, 0.5, {}, 0.0},
    };
    readings[1].soil_temp_c = -1.5;
    const std::string text = write_csv(readings);
    CHECK(text == std::string(kCsvHeaderWithSoil) +
                      "\n2026-08-22T23:00:00Z,21.25,88.5,0.75,0.0,12.125,\n"
                      "2026-08-23T00:00:00Z,20.50,,0.50,,0.000,-1.5\n");
    const CsvReadings read = read_csv(text);
    CHECK(read.faults.empty());
    CHECK(read.readings == readings);

    const auto fault = [](std::string_view header, const std::string& values) {
        const CsvReadings bad =
            read_csv(std::string(header) + "\n2026-08-22T23:00:00Z," + values + "\n");
        REQUIRE(bad.faults.size() == 1);
        CHECK(bad.readings.empty());
        return bad.faults[0].message;
    };
    CHECK(fault(kCsvHeader, "21,88,0.7,0,0,15").find("nothing follows rain_mm") !=
          std::string::npos);
    CHECK(fault(kCsvHeaderWithSoil, "21,88,0.7,0,0,15,1").find("nothing follows soil_temp_c") !=
          std::string::npos);
    CHECK(fault(kCsvHeaderWithSoil, "21,88,0.7,0,0").find("write it whole (time,air_temp_c,") !=
          std::string::npos);
    CHECK(fault(kCsvHeaderWithSoil, "21,88,0.7,0,0,61").find("soil_temp_c '61' is out of range") !=
          std::string::npos);
    CHECK(read_csv_line("2026-08-22T23:00:00Z,,,,,,9.5", std::nullopt, true)
              .reading.value()
              .soil_temp_c == 9.5);
}
