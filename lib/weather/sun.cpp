#include "weather/sun.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::weather {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kHourAngle = kPi / 12; // the sun's way in one hour
constexpr double kSecondsPerDegree = 240;

double radians(double degrees) {
    return degrees * kPi / 180;
}

// The angle within -pi..pi.
double wrapped(double angle_rad) {
    return std::remainder(angle_rad, 2 * kPi);
}

Seconds seconds_of(double seconds) {
    return Seconds{std::llround(seconds)};
}

// Clock time minus this is the mean solar time of the meridian.
Seconds meridian_offset(const Place& place) {
    return seconds_of(-place.longitude_deg * kSecondsPerDegree);
}

// FAO-56 Eq. 32 and 33: what the sundial is ahead of the mean sun, in hours.
double seasonal_correction_h(int day_of_year) {
    const double b = 2 * kPi * (day_of_year - 81) / 364;
    return 0.1645 * std::sin(2 * b) - 0.1255 * std::cos(b) - 0.025 * std::sin(b);
}

// The integral of the sine of the sun's elevation over [from, to], where the sun is up only
// within `sunset` of noon.
double lit_integral(double from, double to, double sunset, double sines, double cosines) {
    double sum = 0;
    // The hour around midnight may touch the evening of one day and the morning of the next.
    for (const double noon : {-2 * kPi, 0.0, 2 * kPi}) {
        const double a = std::max(from, noon - sunset);
        const double b = std::min(to, noon + sunset);
        if (a < b) sum += (b - a) * sines + cosines * (std::sin(b) - std::sin(a));
    }
    return std::max(sum, 0.0);
}

// Where the true sun stands, for one place and moment.
struct SunPosition {
    double hour_angle_rad = 0; // -pi..pi
    double elevation_rad = 0;  // of the centre, without refraction
    double semidiameter_rad = 0;
};

// Meeus 1998, Astronomical Algorithms, ch. 12 and 25 (low accuracy: 0.01 degrees).
SunPosition sun_position(const Place& place, double unix_s) {
    const double days = unix_s / 86400 - 10957.5; // since J2000.0
    const double centuries = days / 36525;
    const double anomaly = radians(357.52911 + centuries * (35999.05029 - 0.0001537 * centuries));
    const double mean_longitude = 280.46646 + centuries * (36000.76983 + 0.0003032 * centuries);
    const double centre =
        (1.914602 - centuries * (0.004817 + 0.000014 * centuries)) * std::sin(anomaly) +
        (0.019993 - 0.000101 * centuries) * std::sin(2 * anomaly) +
        0.000289 * std::sin(3 * anomaly);
    const double eccentricity = 0.016708634 - centuries * 0.000042037;
    const double distance_au = 1.000001018 * (1 - eccentricity * eccentricity) /
                               (1 + eccentricity * std::cos(anomaly + radians(centre)));
    // Aberration, and nutation by its largest term; the latter moves the sidereal time alike.
    const double node = radians(125.04 - 1934.136 * centuries);
    const double nutation = -0.00478 * std::sin(node);
    const double longitude = radians(mean_longitude + centre - 0.00569 + nutation);
    const double obliquity = radians(23.4392911 - 0.0130042 * centuries + 0.00256 * std::cos(node));
    const double ascension =
        std::atan2(std::cos(obliquity) * std::sin(longitude), std::cos(longitude));
    const double declination = std::asin(std::sin(obliquity) * std::sin(longitude));
    const double sidereal = 280.46061837 + 360.98564736629 * days +
                            0.000387933 * centuries * centuries + nutation * std::cos(obliquity);

    SunPosition sun;
    sun.hour_angle_rad = wrapped(radians(sidereal + place.longitude_deg) - ascension);
    const double latitude = radians(place.latitude_deg);
    sun.elevation_rad = std::asin(
        std::clamp(std::sin(latitude) * std::sin(declination) +
                       std::cos(latitude) * std::cos(declination) * std::cos(sun.hour_angle_rad),
                   -1.0, 1.0));
    sun.semidiameter_rad = radians(959.63 / 3600) / distance_au;
    return sun;
}

// How far the upper limb stands above the horizon as seen through the air.
double limb_elevation_rad(const Place& place, double unix_s) {
    const SunPosition sun = sun_position(place, unix_s);
    return sun.elevation_rad + sun.semidiameter_rad + radians(34.0 / 60);
}

// The moment near `unix_s` at which the hour angle is `target_rad`.
double culmination(const Place& place, double unix_s, double target_rad) {
    for (int i = 0; i < 4; ++i) {
        const double off = wrapped(target_rad - sun_position(place, unix_s).hour_angle_rad);
        unix_s += off * 43200 / kPi;
    }
    return unix_s;
}

// The moment between `below` and `above` at which the upper limb touches the horizon.
std::optional<WallTime> horizon_crossing(const Place& place, double below, double above) {
    if (limb_elevation_rad(place, below) > 0 || limb_elevation_rad(place, above) <= 0)
        return std::nullopt;
    for (int i = 0; i < 30; ++i) {
        const double middle = (below + above) / 2;
        (limb_elevation_rad(place, middle) > 0 ? above : below) = middle;
    }
    return WallTime{seconds_of(above)};
}

} // namespace

double inverse_distance(int day_of_year) {
    return 1 + 0.033 * std::cos(2 * kPi * day_of_year / 365);
}

double declination_rad(int day_of_year) {
    return 0.409 * std::sin(2 * kPi * day_of_year / 365 - 1.39);
}

double sunset_hour_angle_rad(double latitude_rad, double declination_rad) {
    return std::acos(std::clamp(-std::tan(latitude_rad) * std::tan(declination_rad), -1.0, 1.0));
}

double daylight_hours(double latitude_rad, int day_of_year) {
    return 24 / kPi * sunset_hour_angle_rad(latitude_rad, declination_rad(day_of_year));
}

double extraterrestrial_daily_mj(double latitude_rad, int day_of_year,
                                 double solar_constant_mj_per_min) {
    const double declination = declination_rad(day_of_year);
    const double sunset = sunset_hour_angle_rad(latitude_rad, declination);
    const double lit = sunset * std::sin(latitude_rad) * std::sin(declination) +
                       std::cos(latitude_rad) * std::cos(declination) * std::sin(sunset);
    return std::max(24 * 60 / kPi * solar_constant_mj_per_min * inverse_distance(day_of_year) * lit,
                    0.0);
}

HourSun hour_sun(const Place& place, WallTime hour_start, double solar_constant_mj_per_min) {
    CHECK(std::abs(place.latitude_deg) <= 90 && std::abs(place.longitude_deg) <= 180);
    // The day of the year is the place's own: it changes at its midnight, not at Greenwich's.
    const WallTime solar = hour_start - meridian_offset(place) + std::chrono::minutes{30};
    const auto midnight = std::chrono::floor<std::chrono::days>(solar);
    const int day = day_of_year(Date{midnight});
    // FAO-56 Eq. 31 with clock and place in UTC and degrees east (Lz = 0).
    const double since_midnight_h =
        static_cast<double>((hour_start + std::chrono::minutes{30} - midnight).count()) / 3600 +
        place.longitude_deg / 15;
    const double latitude = radians(place.latitude_deg);
    const double declination = declination_rad(day);
    const double sines = std::sin(latitude) * std::sin(declination);
    const double cosines = std::cos(latitude) * std::cos(declination);

    HourSun sun;
    sun.hour_angle_rad = wrapped(kHourAngle * (since_midnight_h + seasonal_correction_h(day) - 12));
    sun.elevation_rad =
        std::asin(std::clamp(sines + cosines * std::cos(sun.hour_angle_rad), -1.0, 1.0));
    sun.extraterrestrial_mj =
        12 * 60 / kPi * solar_constant_mj_per_min * inverse_distance(day) *
        lit_integral(sun.hour_angle_rad - kHourAngle / 2, sun.hour_angle_rad + kHourAngle / 2,
                     sunset_hour_angle_rad(latitude, declination), sines, cosines);
    return sun;
}

double diffuse_fraction(double clearness) {
    CHECK(clearness >= 0);
    const double k = clearness;
    if (k <= 0.22) return 1 - 0.09 * k;
    if (k > 0.80) return 0.165;
    return 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)));
}

SunTimes sun_times(const Place& place, Date date) {
    CHECK(date.ok());
    CHECK(std::abs(place.latitude_deg) <= 90 && std::abs(place.longitude_deg) <= 180);
    constexpr double kHalfDay = 43200;
    const WallTime mean_noon =
        WallTime{std::chrono::sys_days{date}} + std::chrono::hours{12} + meridian_offset(place);
    const double noon = culmination(place, static_cast<double>(to_unix(mean_noon)), 0);
    const double night_before = culmination(place, noon - kHalfDay, kPi);
    const double night_after = culmination(place, noon + kHalfDay, kPi);

    SunTimes times;
    times.noon = WallTime{seconds_of(noon)};
    times.sunrise = horizon_crossing(place, night_before, noon);
    times.sunset = horizon_crossing(place, night_after, noon);
    times.always_up = limb_elevation_rad(place, night_before) > 0 &&
                      limb_elevation_rad(place, noon) > 0 &&
                      limb_elevation_rad(place, night_after) > 0;
    return times;
}

} // namespace firstmow::weather
