#include "renovation/record.hpp"

#include "base/text.hpp"

#include <string>

namespace firstmow::renovation {

namespace {

constexpr std::size_t kMostDays = 200 * 366;
constexpr double kColdest = -70;
constexpr double kHottest = 60;
constexpr double kMostRain = 2000;

Error at_line(int line, const std::string& what) {
    return Error{"line " + std::to_string(line) + ": " + what};
}

// Nothing in an empty field; false when it holds something else than a temperature.
bool read_temperature(std::string_view field, std::optional<double>& value) {
    value.reset();
    if (field.empty()) return true;
    const auto number = parse_number(field);
    if (!number || *number < kColdest || *number > kHottest) return false;
    value = *number;
    return true;
}

Result<DailyAir> read_day(std::string_view text, std::size_t columns, int line) {
    const auto fields = split_commas(text);
    if (fields.size() != columns)
        return at_line(line, "it has " + std::to_string(fields.size()) + " fields; " +
                                 std::to_string(columns) + ", as in the header, would be right");
    DailyAir day;
    const auto date = parse_date(fields[0]);
    if (!date) return at_line(line, date.error().message);
    day.date = *date;
    if (columns == 4 && !fields[3].empty()) {
        day.rain_mm = parse_number(fields[3]);
        if (!day.rain_mm || *day.rain_mm < 0 || *day.rain_mm > kMostRain)
            return at_line(line, "the rain is no number from 0 to 2000; millimetres, or nothing "
                                 "where it is missing, would be right");
    }
    const bool good = read_temperature(fields[1], day.min_c) &&
                      (columns < 3 || read_temperature(fields[2], day.max_c));
    if (!good)
        return at_line(line, "a temperature is no number from -70 to 60; degrees Celsius, or "
                             "nothing where it is missing, would be right");
    if (day.min_c && day.max_c && *day.max_c < *day.min_c)
        return at_line(line, "the maximum is below the minimum; min_temp_c before max_temp_c "
                             "would be right");
    return day;
}

} // namespace

Result<std::vector<DailyAir>> read_record(std::string_view csv) {
    std::vector<DailyAir> days;
    std::size_t columns = 0;
    int line = 0;
    while (!csv.empty()) {
        ++line;
        const std::size_t end = csv.find('\n');
        std::string_view text = csv.substr(0, end);
        csv.remove_prefix(end == std::string_view::npos ? csv.size() : end + 1);
        if (text.ends_with('\r')) text.remove_suffix(1);
        if (line == 1) {
            if (text == "date,min_temp_c") columns = 2;
            if (text == "date,min_temp_c,max_temp_c") columns = 3;
            if (text == "date,min_temp_c,max_temp_c,rain_mm") columns = 4;
            if (columns == 0) break;
            continue;
        }
        if (text.empty()) continue;
        const auto day = read_day(text, columns, line);
        if (!day) return day.error();
        if (!days.empty() && day->date <= days.back().date)
            return at_line(line, "the day does not follow the one before; each day once, in "
                                 "order, would be right");
        if (days.size() == kMostDays) return at_line(line, "there are more than 200 years of days");
        days.push_back(*day);
    }
    if (columns == 0)
        return at_line(1, "the header is not date,min_temp_c,max_temp_c,rain_mm (the last or the "
                          "last two may be left out); that would be right");
    return days;
}

} // namespace firstmow::renovation
