#include "weather/csv.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

namespace firstmow::weather {

namespace {

using std::chrono::hours;

constexpr std::size_t kColumns = 7; // of a line with a soil temperature

// A column of numbers: where it goes and what is possible.
struct Column {
    std::string_view name;
    std::string_view unit;
    double lowest = 0;
    double highest = 0;
    std::optional<double> Reading::*value = nullptr;
};

constexpr std::array<Column, kColumns - 1> kValues{{
    {"air_temp_c", "deg C", -60, 60, &Reading::air_temp_c},
    {"rel_humidity_pct", "%", 0, 100, &Reading::rel_humidity_pct},
    {"wind_2m_m_s", "m/s", 0, 60, &Reading::wind_2m_m_s},
    {"solar_w_m2", "W/m2", 0, 1500, &Reading::solar_w_m2},
    {"rain_mm", "mm", 0, 200, &Reading::rain_mm},
    {"soil_temp_c", "deg C", -40, 60, &Reading::soil_temp_c},
}};

// A piece of the file inside a message: short, and without bytes that upset a terminal.
std::string shown(std::string_view text) {
    constexpr std::size_t kLongest = 40;
    std::string out = "'";
    for (const char c : text.substr(0, kLongest))
        out += c >= ' ' && c <= '~' ? c : '?';
    return out + (text.size() > kLongest ? "...'" : "'");
}

std::string number(std::size_t n) {
    return std::to_string(n);
}

int as_column(std::size_t offset) {
    return static_cast<int>(offset) + 1;
}

std::string_view without_cr(std::string_view line) {
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    return line;
}

std::optional<std::string> length_fault(std::string_view line) {
    if (line.size() <= kLongestCsvLine) return std::nullopt;
    return "the line has " + number(line.size()) +
           " bytes and was not read; a line of weather has " + "at most " + number(kLongestCsvLine);
}

// How a line stands in time to the one before; `unread` lines between them had no readable time
// and may have been the hours that are not there.
std::optional<std::string> order_fault(WallTime hour, WallTime previous, int unread) {
    if (hour == previous)
        return "the hour " + to_iso8601(hour) + " stands here twice; keep one line for each hour";
    if (hour < previous)
        return "time goes backwards from " + to_iso8601(previous) + " to " + to_iso8601(hour) +
               "; put the lines in order";
    const auto missing = (hour - previous) / hours{1} - 1;
    if (missing <= unread) return std::nullopt;
    const std::string first = to_iso8601(previous + hours{1});
    if (missing == 1)
        return "1 hour is missing before this line (" + first +
               "); write its line, with empty fields for what was not measured";
    return std::to_string(missing) + " hours are missing before this line (" + first + " to " +
           to_iso8601(hour - hours{1}) +
           "); write a line for each, with empty fields for what was not measured";
}

// The hour in `field`; a fault is added when it is none.
std::optional<WallTime> read_hour(std::string_view field, std::vector<CsvFault>& faults) {
    const auto time = parse_iso8601(field);
    if (!time) {
        faults.push_back(
            {0, 1, shown(field) + " is not a time; write UTC such as 2026-08-22T13:00:00Z"});
        return std::nullopt;
    }
    if (std::chrono::floor<hours>(*time) != *time) {
        faults.push_back({0, 1,
                          to_iso8601(*time) + " is not a full hour; a line stands for the hour " +
                              "that starts at its time, such as " +
                              to_iso8601(std::chrono::floor<hours>(*time))});
        return std::nullopt;
    }
    return *time;
}

// The number in `field`, which may be empty; a sentence in `fault` when it is none.
std::optional<double> read_value(const Column& column, std::string_view field, std::string& fault) {
    if (field.empty()) return std::nullopt;
    const auto value = parse_number(field);
    const std::string name(column.name);
    if (!value) {
        fault = shown(field) + " is no number for " + name +
                "; write one such as 21.5, or leave the field empty if it was not measured";
        return std::nullopt;
    }
    if (*value < column.lowest || *value > column.highest) {
        fault = name + " " + shown(field) + " is out of range; it lies between " +
                fixed(column.lowest, 0) + " and " + fixed(column.highest, 0) + " " +
                std::string(column.unit);
        return std::nullopt;
    }
    return *value + 0.0; // no minus zero
}

// The header of a file whose lines have so many fields.
std::string_view header_of(std::size_t columns) {
    return columns == kColumns ? kCsvHeaderWithSoil : kCsvHeader;
}

CsvFault count_fault(std::string_view line, const std::vector<std::string_view>& fields,
                     std::size_t columns) {
    if (fields.size() > columns)
        return {0, as_column(static_cast<std::size_t>(fields[columns].data() - line.data())),
                number(fields.size()) + " fields where " + number(columns) +
                    " belong; decimals are written with a point, and nothing follows " +
                    std::string(kValues[columns - 2].name)};
    return {0, as_column(line.size()),
            (fields.size() == 1 ? std::string("1 field") : number(fields.size()) + " fields") +
                " where " + number(columns) + " belong; the line is torn, write it whole (" +
                std::string(header_of(columns)) + ")"};
}

// `unread` counts the lines since `previous` whose time could not be read.
CsvLine read_line(std::string_view line, std::optional<WallTime> previous, std::size_t columns,
                  int& unread) {
    CsvLine result;
    line = without_cr(line);
    if (line.empty()) {
        result.faults.push_back({0, 1, "the line is empty; delete it or write the hour's values"});
        return result;
    }
    if (auto fault = length_fault(line)) {
        ++unread;
        result.faults.push_back({0, as_column(kLongestCsvLine), std::move(*fault)});
        return result;
    }
    const auto fields = split_commas(line);
    const bool whole = fields.size() == columns;
    if (!whole) result.faults.push_back(count_fault(line, fields, columns));

    // The time of a torn line still tells which hour it was to be, unless it is torn itself.
    std::vector<CsvFault> time_faults;
    result.hour = read_hour(fields[0], time_faults);
    if (!result.hour) ++unread;
    if (fields.size() > 1)
        std::move(time_faults.begin(), time_faults.end(), std::back_inserter(result.faults));
    if (result.hour && previous) {
        if (auto fault = order_fault(*result.hour, *previous, unread)) {
            result.faults.push_back({0, 1, std::move(*fault)});
            if (*result.hour <= *previous) result.hour.reset();
        }
    }
    if (result.hour) unread = 0;
    if (!whole) return result;

    Reading reading;
    bool good = true;
    for (std::size_t i = 0; i + 1 < columns; ++i) {
        const std::string_view field = fields[i + 1];
        std::string fault;
        reading.*kValues[i].value = read_value(kValues[i], field, fault);
        if (fault.empty()) continue;
        good = false;
        result.faults.push_back(
            {0, as_column(static_cast<std::size_t>(field.data() - line.data())), std::move(fault)});
    }
    if (good && result.hour) {
        reading.start = *result.hour;
        result.reading = reading;
    }
    return result;
}

// What is wrong with the header, if anything.
std::optional<CsvFault> header_fault(std::string_view line) {
    const std::string right = "the first line is " + std::string(kCsvHeader);
    if (line == kCsvHeader || line == kCsvHeaderWithSoil) return std::nullopt;
    if (line.size() > kLongestCsvLine) return CsvFault{1, 1, *length_fault(line) + "; " + right};
    const auto fields = split_commas(line);
    if (parse_iso8601(fields[0])) return CsvFault{1, 1, "the header is missing; " + right};
    const auto known = split_commas(kCsvHeader);
    for (std::size_t i = 0; i < std::min(fields.size(), known.size()); ++i) {
        if (fields[i] != known[i])
            return CsvFault{1, as_column(static_cast<std::size_t>(fields[i].data() - line.data())),
                            "the header has " + shown(fields[i]) + " where '" +
                                std::string(known[i]) + "' belongs; " + right};
    }
    return CsvFault{1, as_column(std::min(line.size(), kCsvHeader.size())),
                    "the header has " + number(fields.size()) + " columns where " +
                        number(kColumns - 1) + " belong; " + right};
}

// Takes the next line off `text`.
std::string_view next_line(std::string_view& text) {
    const auto end = text.find('\n');
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    return without_cr(line);
}

} // namespace

CsvLine read_csv_line(std::string_view line, std::optional<WallTime> previous, bool with_soil) {
    int unread = 0;
    return read_line(line, previous, with_soil ? kColumns : kColumns - 1, unread);
}

CsvReadings read_csv(std::string_view text) {
    CsvReadings result;
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
    while (!text.empty() && (text.back() == '\n' || text.back() == '\r'))
        text.remove_suffix(1);
    if (text.empty()) {
        result.faults.push_back(
            {1, 1, "the file is empty; its first line is " + std::string(kCsvHeader)});
        return result;
    }

    int line_number = 0;
    std::string_view below = text;
    const std::string_view header = next_line(below);
    auto wrong_header = header_fault(header);
    const bool header_missing = wrong_header && parse_iso8601(header.substr(0, header.find(',')));
    if (!header_missing) {
        text = below;
        line_number = 1;
    }
    if (wrong_header) result.faults.push_back(std::move(*wrong_header));
    const bool columns_known = !wrong_header || header_missing;
    const std::size_t columns = header == kCsvHeaderWithSoil ? kColumns : kColumns - 1;

    std::optional<WallTime> previous;
    int unread = 0;
    while (!text.empty()) {
        ++line_number;
        CsvLine line = read_line(next_line(text), previous, columns, unread);
        for (CsvFault& fault : line.faults) {
            fault.line = line_number;
            result.faults.push_back(std::move(fault));
        }
        if (line.reading && columns_known) result.readings.push_back(*line.reading);
        if (line.hour) previous = line.hour;
        if (result.faults.size() >= kMostFaults && !text.empty()) {
            result.faults.push_back(
                {line_number, 1, "too many faults; the rest of the file was not read"});
            break;
        }
    }
    return result;
}

std::string located(std::string_view file, const CsvFault& fault) {
    return std::string(file) + ":" + std::to_string(fault.line) + ":" +
           std::to_string(fault.column) + ": " + fault.message;
}

} // namespace firstmow::weather
