// The weather CSV of the contract: reading it, strictly, with the place of every fault,
// and writing it.
//
//   time,air_temp_c,rel_humidity_pct,wind_2m_m_s,solar_w_m2,rain_mm
//   2026-08-22T13:00:00Z,27.4,41.0,2.10,640.0,0.000
//
// A seventh column, soil_temp_c, may follow: what a probe at 50 to 100 mm showed.
//
// One line an hour, in order; an empty field is a value that was not measured. Lines end with LF
// or CRLF, the last one with or without; empty lines at the very end are passed over.
//
// A file of any content can be read: nothing of it is trusted, long lines are not looked into,
// and after kMostFaults faults the reading stops, which the last fault says.
#pragma once

#include "weather/hour.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::weather {

inline constexpr std::string_view kCsvHeader =
    "time,air_temp_c,rel_humidity_pct,wind_2m_m_s,solar_w_m2,rain_mm";
inline constexpr std::string_view kCsvHeaderWithSoil =
    "time,air_temp_c,rel_humidity_pct,wind_2m_m_s,solar_w_m2,rain_mm,soil_temp_c";
inline constexpr std::size_t kLongestCsvLine = 512; // bytes; ours have about 60
inline constexpr std::size_t kMostFaults = 1000;

// A faulty line: 1-based line and column (of the field), and one sentence on what is wrong and
// what would be right.
struct CsvFault {
    int line = 0;
    int column = 0;
    std::string message;
};

struct CsvReadings {
    std::vector<Reading> readings; // the good lines, in order
    std::vector<CsvFault> faults;  // every bad one
};

// Reads a whole file. Faults: a wrong header, too few or too many fields, a text that is no
// number (NaN included), a value out of range, a time that is not a full hour, a time that does
// not come after the line before, and hours that are missing between two lines.
// Below a wrong header the lines are still checked, but none is a reading: who knows what its
// columns mean. A line after missing hours is a good line; the fault is what is not there.
CsvReadings read_csv(std::string_view text);

// Reads one data line (no header, no line break) on its own; `previous` is the hour of the line
// before, good or not; `with_soil`: below kCsvHeaderWithSoil. For a file that grows.
struct CsvLine {
    std::optional<Reading> reading;
    std::vector<CsvFault> faults; // `line` is left 0
    // The hour that the line is about, also where a value of it is faulty: the `previous` of the
    // line after. None where the time cannot be read or does not come after `previous`.
    std::optional<WallTime> hour;
};
CsvLine read_csv_line(std::string_view line, std::optional<WallTime> previous,
                      bool with_soil = false);

// Readings as such a file, header included; an absent value is an empty field. The column of soil
// temperatures is there when any reading has one.
std::string write_csv(std::span<const Reading> readings);

// "FILE:LINE:COLUMN: message".
std::string located(std::string_view file, const CsvFault& fault);

} // namespace firstmow::weather
