#include "garden/quantity.hpp"

#include "base/check.hpp"
#include "base/text.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <string>

namespace firstmow::garden {

namespace {

// In the unit that the dimension is named by, a number is number * factor + offset.
struct Unit {
    std::string_view symbol;
    double factor;
    double offset = 0;
};

// Exact by definition: in = 25.4 mm, ft = 0.3048 m (international yard and pound agreement of
// 1959), pound = 453.59237 g (the same), US gallon = 231 cubic inches = 3.785411784 L.
constexpr Unit kDepth[] = {{"mm", 1}, {"cm", 10}, {"in", 25.4}};
constexpr Unit kLength[] = {{"m", 1}, {"ft", 0.3048}};
constexpr Unit kRate[] = {{"mm/h", 1}, {"in/h", 25.4}};
constexpr Unit kArea[] = {{"m2", 1}, {"ft2", 0.09290304}};
constexpr Unit kOpening[] = {{"cm2", 1}, {"in2", 6.4516}};
constexpr Unit kFlow[] = {{"L/min", 1}, {"gal/min", 3.785411784}};
constexpr Unit kPercent[] = {{"%", 1}};
constexpr Unit kPotential[] = {{"kPa", 1}};
constexpr Unit kDuration[] = {{"s", 1}, {"min", 60}, {"h", 3600}};
constexpr Unit kDays[] = {{"days", 1}, {"day", 1}, {"weeks", 7}, {"week", 7}};
constexpr Unit kTemperature[] = {{"C", 1}, {"F", 5.0 / 9.0, -32 * 5.0 / 9.0}};
constexpr Unit kCover[] = {{"g/m2", 1}, {"lb/1000 ft2", 453.59237 / 92.90304}};
constexpr Unit kVolume[] = {{"L", 1}, {"gal", 3.785411784}};
// A mile is 1609.344 m (the agreement of 1959).
constexpr Unit kSpeed[] = {{"m/s", 1}, {"km/h", 1 / 3.6}, {"mph", 0.44704}};
constexpr Unit kPrice[] = {
    {"per m3", 1}, {"per 1000 gal", 1 / 3.785411784}, {"per 100 ft3", 1 / 2.8316846592}};

std::span<const Unit> units(Dimension dimension) {
    switch (dimension) {
    case Dimension::depth_mm:
        return kDepth;
    case Dimension::length_m:
        return kLength;
    case Dimension::rate_mm_per_h:
        return kRate;
    case Dimension::area_m2:
        return kArea;
    case Dimension::opening_cm2:
        return kOpening;
    case Dimension::flow_l_per_min:
        return kFlow;
    case Dimension::percent:
        return kPercent;
    case Dimension::potential_kpa:
        return kPotential;
    case Dimension::duration_s:
        return kDuration;
    case Dimension::duration_days:
        return kDays;
    case Dimension::temperature_c:
        return kTemperature;
    case Dimension::cover_g_per_m2:
        return kCover;
    case Dimension::volume_l:
        return kVolume;
    case Dimension::speed_m_s:
        return kSpeed;
    case Dimension::price_per_m3:
        return kPrice;
    }
    CHECK(false);
    return {};
}

Error fault(std::string_view text, std::string_view wrong, Dimension dimension) {
    return Error{in_quotes(text) + " " + std::string(wrong) + "; a number with " +
                 std::string(units_of(dimension)) + " would be right"};
}

} // namespace

std::string_view units_of(Dimension dimension) {
    switch (dimension) {
    case Dimension::depth_mm:
        return "mm, cm or in";
    case Dimension::length_m:
        return "m or ft";
    case Dimension::rate_mm_per_h:
        return "mm/h or in/h";
    case Dimension::area_m2:
        return "m2 or ft2";
    case Dimension::opening_cm2:
        return "cm2 or in2";
    case Dimension::flow_l_per_min:
        return "L/min or gal/min";
    case Dimension::percent:
        return "%";
    case Dimension::potential_kpa:
        return "kPa";
    case Dimension::duration_s:
        return "s, min or h";
    case Dimension::duration_days:
        return "days or weeks";
    case Dimension::temperature_c:
        return "C or F";
    case Dimension::cover_g_per_m2:
        return "g/m2 or lb/1000 ft2";
    case Dimension::volume_l:
        return "L or gal";
    case Dimension::speed_m_s:
        return "m/s, km/h or mph";
    case Dimension::price_per_m3:
        return "per m3, per 1000 gal or per 100 ft3";
    }
    CHECK(false);
    return {};
}

Result<double> parse_quantity(std::string_view text, Dimension dimension) {
    constexpr std::string_view kOfNumbers = "0123456789.-";
    const std::size_t digits = std::min(text.find_first_not_of(kOfNumbers), text.size());
    const std::string_view number = text.substr(0, digits);
    std::string_view unit = text.substr(digits);
    if (unit.starts_with(',')) return fault(text, "has a comma in its number", dimension);
    unit.remove_prefix(std::min(unit.find_first_not_of(' '), unit.size()));

    const auto value = parse_number(number);
    if (!value) return fault(text, "does not begin with a decimal number", dimension);
    if (unit.empty()) return fault(text, "has no unit", dimension);
    for (const Unit& known : units(dimension)) {
        if (unit != known.symbol) continue;
        const double converted = *value * known.factor + known.offset;
        if (!std::isfinite(converted)) return fault(text, "is beyond all bounds", dimension);
        return converted;
    }
    return fault(text, "has the wrong unit", dimension);
}

} // namespace firstmow::garden
