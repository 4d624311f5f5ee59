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

// Of TAW.
constexpr double kLends = 0.15;

} // namespace

RootBook begin_book(const soil::Column& column, const soil::ColumnState& mean, double depth_mm) {
    return {soil::depletion_fraction(column, mean, depth_mm) * soil::available_mm(column, depth_mm),
            0};
}

void enter(RootBook& book, const HourDemand& hour, WallTime from, const soil::Flows& flows,
           double holds_mm) {
    if (from == hour.start && holds_midnight(hour) && book.used_mm < 0) {
        book.lent_mm = std::max(book.lent_mm + book.used_mm, 0.0);
        book.used_mm = 0;
    }
    book.used_mm += flows.evaporation_mm + flows.transpiration_mm;
    book.used_mm -= flows.supply_mm + flows.dew_mm - flows.runoff_mm;
    book.used_mm = std::min(book.used_mm, holds_mm);
}

void lend(RootBook& book, double rise_mm, double most_lent_mm) {
    const double lent_mm = std::clamp(std::min(rise_mm, most_lent_mm - book.lent_mm), 0.0,
                                      std::max(book.used_mm, 0.0));
    book.used_mm -= lent_mm;
    book.lent_mm += lent_mm;
}

double most_lent_mm(double holds_mm) {
    return kLends * holds_mm;
}

double kept_mm(const soil::Column& column, const soil::ColumnState& mean, const Held& held,
               double depth_mm) {
    return soil::storage_mm(column, mean, depth_mm) + held.sum_mm();
}

double rise_mm(const soil::Column& column, const soil::ColumnState& mean, double depth_mm,
               const soil::Flows& flows, double before_mm, double after_mm) {
    const double came_mm = flows.supply_mm + flows.dew_mm - flows.runoff_mm - flows.evaporation_mm -
                           flows.transpiration_mm;
    const double rose_mm = after_mm - before_mm - came_mm;
    if (rose_mm <= 0 || !soil::drained_below(column, mean, depth_mm)) return 0;
    return rose_mm;
}

} // namespace firstmow::watering
