// Quality control of what a station measured: which of its values cannot be so.
//
// A value that is doubted is flagged and kept, but not used; what was flagged is a person's clue
// that a sensor wants looking at. Limits are set wide: they shall catch faults, not weather. Ranges
// are those of hour.hpp and of the sun; the limits of change between hours and of stillness follow
// the spirit of WMO-No. 8 (Guide to Instruments and Methods of Observation, quality control), their
// sizes for hourly means are from memory and wide.
#pragma once

#include "weather/parcel.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace firstmow::weather {

// New ones at the end: they are written as numbers.
enum class Flaw : std::uint8_t {
    range,      // outside of what can be: of air, or of sun at that place and hour
    rate,       // leaps from the hour before
    stuck,      // has not moved for longer than weather stands still
    fahrenheit, // deg F where deg C is due
    burst,      // rain such as a knocked or serviced gauge gives
    future,     // of an hour that has not passed
    late,       // of an hour that has been used without it
    duplicate,  // of an hour that was told already, and otherwise
    missing,    // no value where the source used to give one
    gap,        // hours between this one and the one before were never told
};
inline constexpr std::size_t kFlaws = 10;
std::string_view key(Flaw flaw);

struct Flag {
    WallTime hour;
    Variable variable = Variable::temperature; // of future, late and gap: temperature
    Flaw flaw = Flaw::range;
    double value = 0; // as it was told; of a gap the hours that lack, of missing 0
    bool operator==(const Flag&) const = default;
};

// A sentence for a person: "temperature 78.2 at 2026-08-22T13:00Z: looks like deg F; deg C is due".
std::string words(const Flag& flag);

// Judges the last of `told`: readings of one source as it told them, in order, gaps allowed, up to
// 48 h back, not empty. `accepted` are those of before, with flagged values taken out, in order.
// `expected_c` is what another source says of the temperature of that hour, if any does.
// Returns one flag for each doubted value. With a dull history everything in range is believed.
std::vector<Flag> judge(const Place& place, std::span<const Reading> told,
                        std::span<const Reading> accepted, std::optional<double> expected_c);

// The reading without the values that are flagged for its hour.
Reading without(const Reading& reading, std::span<const Flag> flags);

} // namespace firstmow::weather
