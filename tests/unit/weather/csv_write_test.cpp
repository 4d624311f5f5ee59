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
