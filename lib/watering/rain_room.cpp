#include "watering/rain_room.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <limits>

namespace firstmow::watering {

namespace {

bool rain_after(Hours hours, WallTime t) {
    return std::any_of(hours.begin(), hours.end(), [&](const HourDemand& hour) {
        return hour.start + Seconds{3600} > t && counted_rain_mm_per_h(hour, 0) > 0.01;
    });
}

} // namespace

double rain_room_mm(const Outlook& then, Hours hours, int run_s, double most_mm) {
    CHECK(then.book.has_value() && !hours.empty() && most_mm >= 0);
    if (!rain_after(hours, then.at)) return 0;
    // Lived through as it is to be expected, with the run in full and with so much less in the
    // book. What is less at the end is what rain has not made up for.
    Outlook full = then;
    full.rain_from = 0;
    full.caution = 0;
    full.roots_hold_mm = std::numeric_limits<double>::infinity();
    pass(full, hours, then.at + Seconds{run_s}, true);
    Outlook less = full;
    less.book->used_mm += most_mm;
    const WallTime until = hours.back().start + Seconds{3600};
    pass(full, hours, until, false);
    pass(less, hours, until, false);
    const double still_less_mm =
        std::max(less.book->used_mm, 0.0) - std::max(full.book->used_mm, 0.0);
    return std::clamp(most_mm - still_less_mm, 0.0, most_mm);
}

} // namespace firstmow::watering
