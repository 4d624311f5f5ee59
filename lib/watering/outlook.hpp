// Looking ahead: what becomes of a zone under the weather to come, with or without a run.
//
// Runs the same column as the budget does, on longer steps while no water falls. Rain counts by its
// probability and by what of such rain came in its hour; too unlikely rain not at all. ET can be
// taken for higher by what the record of past forecasts makes of its error.
#pragma once

#include "watering/zone_model.hpp"

#include <optional>
#include <span>

namespace firstmow::watering {

// Hours without gaps, in order.
using Hours = std::span<const HourDemand>;

// Rain less likely than this is not counted on, where nothing else is said.
inline constexpr double kLikelyRain = 0.6;

// When a zone counts as dry.
struct DryTest {
    enum class Layer { seed_zone, root_zone };
    Layer layer = Layer::seed_zone;
    double threshold_kpa = -100;  // dry when drier
    double allowed_depletion = 1; // root zone: dry when more of its available water is used
    double depth_mm = 6;          // of the layer judged
    bool driest_quarter = true;   // false: the mean of the zone (grown-in lawns and beds)
    // How hours that are still to come are taken.
    double rain_from = kLikelyRain; // rain less likely than this is not counted on
    double caution = 0;             // ET is taken for higher by so many of its mean errors
};
DryTest dry_test(const ZoneSpec& spec, const turf::Progress& progress, const turf::Needs& needs);

// A zone on its way into the future. A value: copy it to try something.
struct Outlook {
    const ZoneSpec* spec = nullptr;
    soil::ColumnState column; // the mean, or the driest quarter, as the test judges
    Held held;                // on its leaves and in its straw
    double share = 1;         // of the mean rate that it gets
    soil::HeatState heat;
    Cooling cooling;
    SurfaceCover cover;
    std::optional<RootBook> book;   // of a grown-in lawn, where its mean is judged
    double roots_deep_mm = 0;       // what the book speaks of
    double roots_hold_mm = 0;       // TAW of it
    double most_lent_mm = 0;        // to it from below
    double rain_from = kLikelyRain; // see DryTest
    double caution = 0;
    WallTime at;
};
Outlook look(const ZoneSpec& spec, const ZoneState& state, const DryTest& test, WallTime now);

// Of the roots' water, 0..1: by the column, or by the book where that is more.
double used_share(const Outlook& outlook, const DryTest& test);
// The same in mm, where it is the book that has more; none where the column has as much.
struct BookShare {
    double used_mm = 0;
    double holds_mm = 0; // what the soil keeps for the roots in all
};
std::optional<BookShare> book_share(const Outlook& outlook, const DryTest& test);
bool is_dry(const Outlook& outlook, const DryTest& test);
// Matric potential of the layer judged.
double judged_kpa(const Outlook& outlook, const DryTest& test);

// While no water falls, the steps of the outlook.
inline constexpr Seconds kCoarseStep{900};
// Lets time pass to `until` (at most the end of `hours`), the valve open or not.
void pass(Outlook& outlook, Hours hours, WallTime until, bool valve_open,
          Seconds coarse = kCoarseStep);
// The first moment, up to `until`, at which it is dry: the beginning of the five minutes within
// which it becomes so. The outlook is left at their end, or at `until`.
std::optional<WallTime> first_dry(Outlook& outlook, Hours hours, WallTime until,
                                  const DryTest& test);

// What rain is taken to bring in an hour, mm/h.
double counted_rain_mm_per_h(const HourDemand& hour, double from_probability = kLikelyRain);

// Water (mm) that would fill the column's soil to field capacity down to `depth_mm`, less what
// stands on it and what some layers hold beyond; 0 when there is more than enough.
double deficit_mm(const ZoneSpec& spec, const soil::ColumnState& column, double depth_mm);
// The same with what leaves and straw will keep of it.
double deficit_mm(const Outlook& outlook, double depth_mm);

// The same, but what some layers hold beyond field capacity does not count: what a light sand keeps
// near its surface does not reach the roots below before more comes after it.
double roots_deficit_mm(const Outlook& outlook, double depth_mm);

// The longest opening (s, at most `longest_s`) that stands no deeper on the mean of the zone than
// the film that stays put: longer ones would wash seed together or run off.
int longest_intake_s(const ZoneSpec& spec, const ZoneState& state, const HourDemand& hour,
                     int longest_s);

} // namespace firstmow::watering
