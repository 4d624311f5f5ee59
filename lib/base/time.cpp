#include "base/time.hpp"

#include <array>
#include <cstdio>

namespace firstmow {

namespace {

// Reads exactly `width` decimal digits at `at`; -1 when something else stands there.
int digits(std::string_view text, std::size_t at, std::size_t width) {
    if (at + width > text.size()) return -1;
    int value = 0;
    for (std::size_t i = at; i < at + width; ++i) {
        if (text[i] < '0' || text[i] > '9') return -1;
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

Result<Date> date_at(std::string_view text) {
    const int y = digits(text, 0, 4);
    const int m = digits(text, 5, 2);
    const int d = digits(text, 8, 2);
    if (y >= 0 && m >= 0 && d >= 0 && text[4] == '-' && text[7] == '-') {
        const Date date{std::chrono::year{y}, std::chrono::month{static_cast<unsigned>(m)},
                        std::chrono::day{static_cast<unsigned>(d)}};
        if (date.ok()) return date;
    }
    return Error{"'" + std::string(text) + "' is not a date; write YYYY-MM-DD"};
}

} // namespace

std::string to_string(Date date) {
    std::array<char, 32> buffer{};
    std::snprintf(buffer.data(), buffer.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
    return buffer.data();
}

std::string to_iso8601(WallTime t) {
    const auto day = std::chrono::floor<std::chrono::days>(t);
    const std::chrono::hh_mm_ss tod{t - day};
    std::array<char, 48> buffer{};
    std::snprintf(buffer.data(), buffer.size(), "%sT%02d:%02d:%02dZ", to_string(Date{day}).c_str(),
                  static_cast<int>(tod.hours().count()), static_cast<int>(tod.minutes().count()),
                  static_cast<int>(tod.seconds().count()));
    return buffer.data();
}

Result<WallTime> parse_iso8601(std::string_view text) {
    const Error wrong{"'" + std::string(text.substr(0, 40)) +
                      "' is not a time; write UTC as YYYY-MM-DDTHH:MM:SSZ"};
    if (text.size() > 20 && text[19] == '.') {
        const auto fraction = text.substr(20, text.size() - 21);
        const bool is_number = fraction.find_first_not_of("0123456789") == std::string_view::npos;
        if (fraction.empty() || fraction.size() > 9 || !is_number || text.back() != 'Z')
            return wrong;
        return parse_iso8601(std::string(text.substr(0, 19)) + 'Z');
    }
    const bool with_seconds = text.size() == 20;
    if (!with_seconds && text.size() != 17) return wrong;
    if (text[10] != 'T' || text[13] != ':' || text.back() != 'Z') return wrong;
    if (with_seconds && text[16] != ':') return wrong;
    const auto date = date_at(text.substr(0, 10));
    const int h = digits(text, 11, 2);
    const int m = digits(text, 14, 2);
    const int s = with_seconds ? digits(text, 17, 2) : 0;
    if (!date || h < 0 || h > 23 || m < 0 || m > 59 || s < 0 || s > 59) return wrong;
    return WallTime{std::chrono::sys_days{*date}} + std::chrono::hours{h} +
           std::chrono::minutes{m} + Seconds{s};
}

Result<Date> parse_date(std::string_view text) {
    if (text.size() != 10)
        return Error{"'" + std::string(text.substr(0, 40)) + "' is not a date; write YYYY-MM-DD"};
    return date_at(text);
}

int day_of_year(Date date) {
    const auto january_1 = std::chrono::sys_days{date.year() / std::chrono::January / 1};
    return static_cast<int>((std::chrono::sys_days{date} - january_1).count()) + 1;
}

Date add_days(Date date, int days) {
    return Date{std::chrono::sys_days{date} + std::chrono::days{days}};
}

int days_between(Date from, Date to) {
    return static_cast<int>((std::chrono::sys_days{to} - std::chrono::sys_days{from}).count());
}

} // namespace firstmow
