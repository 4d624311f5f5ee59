#include "app/morning.hpp"

#include "host/files.hpp"

#include <utility>

namespace firstmow::app {

namespace {

constexpr int kFromS = 7 * 3600;
constexpr int kClockMayLeapDays = 7;

} // namespace

Morning::Morning(const std::string& file, std::function<void(std::string)> save)
    : save_(std::move(save)) {
    if (const auto text = host::read_file(file, 64))
        if (const auto date = parse_date(text->substr(0, text->find('\n')))) last_ = *date;
}

std::optional<Date> Morning::due(WallTime now, const TimeZone& local) {
    const LocalTime time = local.to_local(now);
    const Date yesterday = add_days(time.date, -1);
    if (!last_) {
        done(yesterday);
        return std::nullopt;
    }
    if (time.second_of_day < kFromS) return std::nullopt;
    // A clock that was put back a little has nothing new to tell; one that was far ahead was wrong.
    const bool told = *last_ >= yesterday && *last_ <= add_days(yesterday, kClockMayLeapDays);
    if (told) return std::nullopt;
    return yesterday;
}

void Morning::done(Date date) {
    last_ = date;
    // At worst it is told of twice.
    save_(to_string(date) + '\n');
}

} // namespace firstmow::app
