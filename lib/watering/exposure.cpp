#include "watering/exposure.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::watering {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kHourAngle = kPi / 12;
constexpr double kSecondsPerDegree = 240;

double hour_angle(double solar_s) {
    return (solar_s / 3600 - 12) * kHourAngle;
}

} // namespace

Exposure exposure_of(const garden::Zone& zone, Seconds solar_ahead) {
    Exposure exposure;
    const auto ahead_s = static_cast<double>(solar_ahead.count());
    if (!zone.sun_hours.empty()) {
        exposure.all_day = false;
        for (const garden::HoursOfDay& hours : zone.sun_hours)
            exposure.spans.push_back(
                {hour_angle(hours.from_s + ahead_s), hour_angle(hours.to_s + ahead_s)});
    } else if (zone.direct_sun_h) {
        exposure.all_day = false;
        const double half = *zone.direct_sun_h / 2 * kHourAngle;
        // Around noon: the thirstiest way to spend them.
        if (half > 0) exposure.spans.push_back({-half, half});
    }
    return exposure;
}

Seconds solar_ahead(const weather::Place& place, const TimeZone& timezone,
                    const garden::Zone& zone) {
    Seconds offset = timezone.eras().front().utc_offset;
    if (zone.establishment.start) {
        offset = timezone.to_local(timezone.to_wall(*zone.establishment.start, 43200)).utc_offset;
    } else {
        for (const TimeZone::Era& era : timezone.eras())
            offset = std::max(offset, era.utc_offset);
    }
    return Seconds{std::llround(place.longitude_deg * kSecondsPerDegree)} - offset;
}

double sunlit_share(const Exposure& exposure, double hour_angle_rad) {
    if (exposure.all_day) return 1;
    double lit = 0;
    for (const SunSpan& span : exposure.spans) {
        // A span of clock hours may lie a turn away from this hour of the sun.
        for (const double turn : {-2 * kPi, 0.0, 2 * kPi}) {
            const double from = std::max(hour_angle_rad - kHourAngle / 2, span.from_rad + turn);
            const double to = std::min(hour_angle_rad + kHourAngle / 2, span.to_rad + turn);
            lit += std::max(to - from, 0.0);
        }
    }
    return std::min(lit / kHourAngle, 1.0);
}

} // namespace firstmow::watering
