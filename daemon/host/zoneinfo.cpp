#include "host/zoneinfo.hpp"

#include <date/tz.h>

namespace firstmow::host {

Result<TimeZone> load_timezone(std::string_view name) {
    // The years in which a season can lie: weather from long ago to a garden planned ahead.
    constexpr WallTime kFirst{std::chrono::sys_days{std::chrono::year{1990} / 1 / 1}};
    constexpr WallTime kLast{std::chrono::sys_days{std::chrono::year{2060} / 1 / 1}};
    try {
        const date::time_zone* zone = date::locate_zone(std::string(name));
        std::vector<TimeZone::Era> eras;
        for (WallTime t = kFirst; t < kLast;) {
            const date::sys_info info = zone->get_info(t);
            eras.push_back({eras.empty() ? kFirst : info.begin, info.offset, info.abbrev});
            if (info.end <= t) break;
            t = info.end;
        }
        return TimeZone(std::string(name), std::move(eras));
    } catch (const std::exception&) {
        return Error{"the time zone '" + std::string(name) +
                     "' is not in this machine's time-zone database (package tzdata)"};
    }
}

} // namespace firstmow::host
