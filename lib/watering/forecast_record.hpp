// How hours turned out, beside what was thought of them some time before: the record of past
// forecasts, and how far the next one is to be believed.
//
// What is thought of an hour is noted when it lies 1, 6, 18 and 36 hours ahead, and set beside what
// was measured when it has passed. Forecasts of a source, and what is assumed from the last days
// where there is none, are scored apart. Older hours fade (half in ten days), and a prior stands in
// while little is known, so that a single odd day changes little. A pure value of bounded size.
#pragma once

#include "base/time.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace firstmow::watering {

inline constexpr std::size_t kLeads = 4;
inline constexpr std::array<int, kLeads> kLeadHours{1, 6, 18, 36};

// Where a thought of an hour came from.
enum class Thought : std::uint8_t { forecast, assumed };
inline constexpr std::size_t kThoughts = 2;

// Sums over hours that have passed, older ones fading.
struct LeadScore {
    double et_thought_mm = 0;   // reference ET
    double et_came_mm = 0;      // of the same hours
    double et_off_mm = 0;       // by how much it was off, hour by hour, once the bias was taken out
    double rain_thought_mm = 0; // amount times probability
    double rain_came_mm = 0;    // of that, what fell in its hour
    bool operator==(const LeadScore&) const = default;
};

// A thought that waits for its hour.
struct Foretold {
    WallTime start;
    std::uint8_t lead = 0; // index into kLeadHours
    Thought thought{};
    double et_mm = 0;
    double rain_mm = 0; // amount times probability
    bool operator==(const Foretold&) const = default;
};
// More never wait.
inline constexpr std::size_t kMostForetold = 80;

struct ForecastRecord {
    std::array<std::array<LeadScore, kLeads>, kThoughts> scores{};
    std::vector<Foretold> waiting;
    bool operator==(const ForecastRecord&) const = default;
};

void foretell(ForecastRecord& record, const Foretold& thought);
// The hour at `start` has passed. `et_mm`: negative (dew) counts as nothing; none of it: nobody
// measured that hour. Drops what waited for it and for hours before it.
void score(ForecastRecord& record, WallTime start, std::optional<double> et_mm,
           std::optional<double> rain_mm);

// What is to be thought of an hour that lies `lead_h` ahead (0 and less: now).
struct Trust {
    double et_factor = 1;  // on its ET: how it turned out on the whole; kLeastFactor..kMostFactor
    double et_doubt = 0;   // mean error of it that is left, as a share of it; 0..kMostDoubt
    double rain_share = 1; // of amount times probability, what is to be expected in that hour; 0..1
};
inline constexpr double kLeastFactor = 0.6;
inline constexpr double kMostFactor = 1.3;
inline constexpr double kMostDoubt = 0.6;
Trust trust_of(const ForecastRecord& record, Thought thought, double lead_h);

// What a rain's share is before anything is known of a source.
inline constexpr double kRainSharePrior = 0.7;

} // namespace firstmow::watering
