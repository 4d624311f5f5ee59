#include "weather/quality.hpp"

#include "base/check.hpp"
#include "base/text.hpp"
#include "weather/fill.hpp"
#include "weather/reference_et.hpp"
#include "weather/sun.hpp"

#include <algorithm>
#include <cmath>

namespace firstmow::weather {

namespace {

using std::chrono::hours;

struct Limits {
    double low;
    double high;
    double leap;        // between hours that follow each other
    double still;       // moves by less than this
    int still_hours;    // for so many hours: stuck
    double still_below; // only values from here ...
    double still_above; // ... to here are judged so
};
// In the order of Variable. Humidity stands at 100 in fog and wind at 0 in still nights, so these
// are no sign of a fault; wind that is 0 for two days is one.
constexpr std::array<Limits, kVariables> kLimits = {{
    {-60, 60, 15, 0.05, 10, -60, 60},
    {0, 100, 65, 0.05, 12, 0, 97},
    {0, 60, 25, 0.005, 10, 0.2, 60},
    {0, 1500, 1500, 0.5, 4, 30, 1500},
    {0, 200, 200, 0, 6, 1, 200},
    {-60, 40, 15, 0.005, 24, -60, 40},
    {0, 1, 1, 0, 1000, 0, 0},
    {-40, 60, 8, 0.02, 40, -40, 60},
}};
constexpr int kStillAirHours = 48;
constexpr hours kBack{48};
constexpr double kSolarConstant = 0.0820; // MJ/m2/min (FAO-56)
constexpr double kWattsPerMjHour = 1 / 0.0036;
// Broken clouds beside the sun can lift a minute far above a clear sky, an hour hardly.
constexpr double kAboveClear = 1.25;
constexpr double kAboveClear_w_m2 = 60;
constexpr double kNightLight_w_m2 = 25;
constexpr double kBurst_mm = 90; // in an hour; rarer than once in a hundred years nearly anywhere
constexpr double kDryBurst_mm = 15; // while the air is dry
constexpr double kDryAir_pct = 45;

const std::optional<double>& at(const Reading& reading, Variable variable) {
    return reading.*kReadingValues[static_cast<std::size_t>(variable)];
}

bool in_fahrenheit(const Place& place, const Reading& now, std::optional<double> expected_c) {
    // What the season would bring is known to ten degrees or so, another source's word to a few.
    const double near = expected_c ? 6 : 12;
    const double expected = expected_c ? *expected_c : assume(place, now.start, {}).air_temp_c;
    const double told = *now.air_temp_c;
    return std::abs(told - expected) > 2 * near + 2 &&
           std::abs((told - 32) / 1.8 - expected) < near;
}

bool out_of_range(const Place& place, const Reading& now, Variable variable, double value) {
    const Limits& limits = kLimits[static_cast<std::size_t>(variable)];
    if (!std::isfinite(value) || value < limits.low || value > limits.high) return true;
    if (variable == Variable::solar) {
        const HourSun sun = hour_sun(place, now.start, kSolarConstant);
        const double clear =
            clear_sky_mj(sun.extraterrestrial_mj, place.elevation_m) * kWattsPerMjHour;
        return value > (clear > 0 ? kAboveClear * clear + kAboveClear_w_m2 : kNightLight_w_m2);
    }
    return false;
}

bool leaps(std::span<const Reading> told, std::span<const Reading> accepted, Variable variable,
           double value) {
    const double leap = kLimits[static_cast<std::size_t>(variable)].leap;
    const WallTime now = told.back().start;
    for (auto r = accepted.rbegin(); r != accepted.rend() && now - r->start <= hours{3}; ++r) {
        const auto& before = at(*r, variable);
        if (!before || r->start >= now) continue;
        const auto apart = static_cast<double>((now - r->start) / hours{1});
        if (std::abs(value - *before) <= leap * apart) return false;
        // Twice in a row at the new level: it was the weather, or the sensor was moved.
        if (told.size() < 2) return true;
        const auto& told_before = at(told[told.size() - 2], variable);
        return !(told_before && now - told[told.size() - 2].start == hours{1} &&
                 std::abs(value - *told_before) <= leap / 3 &&
                 std::abs(*told_before - *before) > leap);
    }
    return false;
}

// For how many hours in a row, this one included, the value has stayed the same.
int still_for(std::span<const Reading> told, Variable variable, double value, double still) {
    int count = 0;
    WallTime next = told.back().start;
    for (auto r = told.rbegin(); r != told.rend(); ++r) {
        const auto& then = at(*r, variable);
        if (r->start != next || !then || std::abs(*then - value) > still) break;
        ++count;
        next -= hours{1};
    }
    return count;
}

bool is_stuck(const Place& place, std::span<const Reading> told, Variable variable, double value) {
    const Limits& limits = kLimits[static_cast<std::size_t>(variable)];
    const int still = still_for(told, variable, value, limits.still);
    if (value >= limits.still_below && value <= limits.still_above && still >= limits.still_hours)
        return true;
    if (variable == Variable::wind) return value == 0 && still >= kStillAirHours;
    // Dark while the sun stands high: even under thick cloud some 5 % come through.
    if (variable == Variable::solar && value <= 1 && still >= 2) {
        const HourSun sun = hour_sun(place, told.back().start - hours{1}, kSolarConstant);
        return std::min(sun.elevation_rad,
                        hour_sun(place, told.back().start, kSolarConstant).elevation_rad) > 0.35;
    }
    return false;
}

bool is_burst(const Reading& now, double value) {
    return value > kBurst_mm ||
           (value > kDryBurst_mm && now.rel_humidity_pct && *now.rel_humidity_pct < kDryAir_pct);
}

} // namespace

std::string_view key(Variable variable) {
    constexpr std::array<std::string_view, kVariables> kKeys = {
        "temperature", "humidity",  "wind",  "solar",
        "rain",        "dew_point", "cloud", "soil temperature"};
    return kKeys[static_cast<std::size_t>(variable)];
}

std::string_view key(Flaw flaw) {
    constexpr std::array<std::string_view, kFlaws> kKeys = {
        "range",  "rate", "stuck",     "fahrenheit", "burst",
        "future", "late", "duplicate", "missing",    "gap"};
    return kKeys[static_cast<std::size_t>(flaw)];
}

std::string words(const Flag& flag) {
    const std::string when = to_iso8601(flag.hour);
    if (flag.flaw == Flaw::future) return "the hour " + when + " has not passed yet";
    if (flag.flaw == Flaw::late) return "the hour " + when + " came too late to be used";
    if (flag.flaw == Flaw::gap)
        return fixed(flag.value, 0) + " hours before " + when + " were never told";
    if (flag.flaw == Flaw::missing)
        return "no " + std::string(key(flag.variable)) + " since " + when;
    const std::string what =
        std::string(key(flag.variable)) + " " + fixed(flag.value, 1) + " at " + when + ": ";
    switch (flag.flaw) {
    case Flaw::range:
        return what + "cannot be, there and then";
    case Flaw::rate:
        return what + "leaps from the hour before";
    case Flaw::stuck:
        return what + "has not moved for hours";
    case Flaw::fahrenheit:
        return what + "looks like deg F; deg C is due";
    case Flaw::burst:
        return what + "looks like a gauge that was knocked or cleaned";
    case Flaw::duplicate:
        return what + "was told before, and otherwise";
    case Flaw::future:
    case Flaw::late:
    case Flaw::missing:
    case Flaw::gap:
        break;
    }
    return what;
}

std::vector<Flag> judge(const Place& place, std::span<const Reading> told,
                        std::span<const Reading> accepted, std::optional<double> expected_c) {
    CHECK(!told.empty());
    const Reading& now = told.back();
    while (told.size() > 1 && now.start - told.front().start > kBack)
        told = told.subspan(1);
    std::vector<Flag> flags;
    const auto flag = [&](Variable variable, Flaw flaw, double value) {
        flags.push_back({now.start, variable, flaw, std::isfinite(value) ? value : 0});
    };
    const bool fahrenheit = now.air_temp_c && in_fahrenheit(place, now, expected_c);
    for (std::size_t i = 0; i < kVariables; ++i) {
        const auto variable = static_cast<Variable>(i);
        const auto& value = at(now, variable);
        if (!value) continue;
        if (fahrenheit && (variable == Variable::temperature || variable == Variable::dew_point ||
                           variable == Variable::soil))
            flag(variable, Flaw::fahrenheit, *value);
        else if (out_of_range(place, now, variable, *value))
            flag(variable, Flaw::range, *value);
        else if (variable == Variable::rain && is_burst(now, *value))
            flag(variable, Flaw::burst, *value);
        else if (is_stuck(place, told, variable, *value))
            flag(variable, Flaw::stuck, *value);
        else if (leaps(told, accepted, variable, *value))
            flag(variable, Flaw::rate, *value);
    }
    return flags;
}

Reading without(const Reading& reading, std::span<const Flag> flags) {
    Reading clean = reading;
    for (const Flag& flag : flags)
        if (flag.hour == reading.start)
            (clean.*kReadingValues[static_cast<std::size_t>(flag.variable)]).reset();
    return clean;
}

} // namespace firstmow::weather
