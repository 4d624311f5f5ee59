#include "watering/root_book.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::watering {

namespace {

// Whether the sun is lowest within the hour. A day may have two such hours, never none: the sun's
// angle at a full hour wanders with the season.
bool holds_midnight(const HourDemand& hour) {
    constexpr double kHalfAnHour = std::numbers::pi / 24;
    return std::abs(hour.hour_angle_rad) > std::numbers::pi - 1.01 * kHalfAnHour;
}

} // namespace

RootBook begin_book(const soil::Column& column, const soil::ColumnState& mean, double depth_mm) {
    return {soil::depletion_fraction(column, mean, depth_mm) *
            soil::available_mm(column, depth_mm)};
}

void enter(RootBook& book, const HourDemand& hour, WallTime from, const soil::Flows& flows,
           double holds_mm) {
    if (from == hour.start && holds_midnight(hour)) book.used_mm = std::max(book.used_mm, 0.0);
    book.used_mm += flows.evaporation_mm + flows.transpiration_mm;
    book.used_mm -= flows.supply_mm + flows.dew_mm - flows.runoff_mm;
    book.used_mm = std::min(book.used_mm, holds_mm);
}

} // namespace firstmow::watering
