#include "base/day_words.hpp"

#include "base/check.hpp"

#include <array>

namespace firstmow {

std::string day_month_words(Date date) {
    static constexpr std::array<const char*, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                         "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    CHECK(date.ok());
    return std::to_string(static_cast<unsigned>(date.day())) + " " +
           kMonths[static_cast<unsigned>(date.month()) - 1];
}

std::string weekday_words(int weekday) {
    static constexpr std::array<const char*, 7> kDays{"Mon", "Tue", "Wed", "Thu",
                                                      "Fri", "Sat", "Sun"};
    CHECK(weekday >= 0 && weekday < 7);
    return kDays[static_cast<std::size_t>(weekday)];
}

std::string day_words(Date date) {
    const std::chrono::weekday day{std::chrono::sys_days{date}};
    return weekday_words(static_cast<int>(day.iso_encoding()) - 1) + " " + day_month_words(date);
}

std::string date_words(Date date) {
    return day_month_words(date) + " " + std::to_string(static_cast<int>(date.year()));
}

} // namespace firstmow
