// What a zone's own factors are, learned from what people and instruments see.
//
// Six unknowns of a zone, each with a normal prior (the four factors in their logarithms, so that
// they are log-normal around 1):
//
//   evaporation   the air's demand on this zone over the model's (shelter, sun, colour)
//   rate          the sprinklers' rate over that of the garden file
//   uniformity    the lower-quarter uniformity over that of the garden file
//   intake        what the soil takes in over what its texture lets expect (crust, structure)
//   probe_offset  what the probe reads above the truth, volume fraction
//   eye_offset    how much drier (in pF) than others this person calls "dry on top"
//
// The two offsets keep an instrument or a person that errs always to the same side from being
// taken for the garden: they share every surprise with the factors.
//
// An observation is predicted by the model: `value` at the present means, with `slope` its
// derivative by each unknown (linearised once, as in an extended Kalman filter). Then
//
//  - a reading y of error variance R (Kalman 1960, the scalar update): with s2 = slope' P slope,
//      mean += P slope (y - value) / (s2 + R),   P -= (P slope)(P slope)' / (s2 + R);
//  - a report that something is beyond a limit, "dry on top", has the likelihood
//      e + (1 - 2e) Phi((x - limit) / sd) of the predicted x ~ N(value, s2): a probit with a part e
//    of reports that are slips or speak of another spot. Its first two moments are closed
//    (Rasmussen and Williams 2006, sect. 3.9: moments of a normal times a cumulative normal); x is
//    given them, and the unknowns follow by regression on x. So a report of what the model knew
//    already teaches nothing, one that surprises it much, and one that is all but impossible
//    hardly.
//
// Reports close in time are not independent: one with the correlation r to the one before counts
// as (1 - r) / (1 + r) of an observation (the effective number of values of a first-order series:
// Bayley and Hammersley 1946), with r = exp(-dt / 24 h). Clicking ten times tells no more than
// once.
//
// After each update the means are put back into their bounds. No unknown ages: what was learned
// stands until something else is seen, or a person takes it back.
#pragma once

#include "base/time.hpp"
#include "garden/sprinklers.hpp"

#include <array>
#include <cstddef>
#include <optional>

namespace firstmow::watering {

enum class Unknown : std::uint8_t {
    evaporation,
    rate,
    uniformity,
    intake,
    probe_offset,
    eye_offset,
};
inline constexpr std::size_t kUnknowns = 6;
using Unknowns = std::array<double, kUnknowns>;
constexpr std::size_t at(Unknown unknown) {
    return static_cast<std::size_t>(unknown);
}

struct Estimate {
    Unknowns mean{};
    std::array<double, kUnknowns * kUnknowns> covariance{}; // by rows
    bool operator==(const Estimate&) const = default;
};

// The factors as the model uses them: medians of what is believed, 1 where nothing was learned.
struct Factors {
    double evaporation = 1;
    double rate = 1;
    double uniformity = 1;
    double intake = 1;
    bool operator==(const Factors&) const = default;
};
Factors factors(const Estimate& estimate);

// No factor leaves these, whatever is reported.
struct FactorBounds {
    double low;
    double high;
};
FactorBounds bounds(Unknown factor); // of one of the four factors

// Before anything was seen. How sure the rate is depends on where it comes from.
Estimate prior(garden::RateSource source);

struct Prediction {
    double value = 0;
    Unknowns slope{};
};
// `weight` 0..1: how much of an observation it is.
Estimate with_reading(const Estimate& before, const Prediction& prediction, double seen,
                      double error_sd, double weight);
// A report that the predicted quantity is above `limit`.
Estimate with_report_above(const Estimate& before, const Prediction& prediction, double limit,
                           double error_sd, double weight);

// One unknown as it was before anything was seen, because what it speaks of is another now.
Estimate forget(const Estimate& estimate, Unknown unknown, const Estimate& prior);

// Of a report so long after the one before of its kind; 1 of the first.
double report_weight(std::optional<Seconds> since_last);

} // namespace firstmow::watering
