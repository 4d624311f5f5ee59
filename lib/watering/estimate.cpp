#include "watering/estimate.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::watering {

namespace {

// Standard deviations before anything was seen (of logarithms for the factors).
// Evaporation: hourly reference ET and surface coefficients are each good to 10 to 15 %.
constexpr double kEvaporationSd = 0.20;
// Uniformity: audits of like systems scatter by about a quarter of the value.
constexpr double kUniformitySd = 0.20;
// Intake: conductivity of one texture scatters log-normally by a factor of two to three
// (Nielsen, Biggar and Erh 1973).
constexpr double kIntakeSd = 0.70;
// A dielectric probe by its maker's calibration is good to 0.03 to 0.04 of the volume.
constexpr double kProbeOffsetSd = 0.035;
// Engineering default: what one person calls dry, another finds damp at half the suction.
constexpr double kEyeOffsetSd = 0.30;
// One report in twenty is a slip, or speaks of a spot (engineering default).
constexpr double kSlips = 0.05;
constexpr double kMemoryS = 24 * 3600.0;

double rate_sd(garden::RateSource source) {
    switch (source) {
    case garden::RateSource::given:
        return 0.15;
    case garden::RateSource::heads:
        return 0.40; // the range of a kind of head
    case garden::RateSource::flow:
        return 0.20; // overspray, and a tap that is not measured at the zone
    case garden::RateSource::cans:
        return 0.08;
    }
    CHECK(false);
    return 0;
}

Unknowns times(const std::array<double, kUnknowns * kUnknowns>& p, const Unknowns& v) {
    Unknowns out{};
    for (std::size_t i = 0; i < kUnknowns; ++i)
        for (std::size_t j = 0; j < kUnknowns; ++j)
            out[i] += p[i * kUnknowns + j] * v[j];
    return out;
}

double dot(const Unknowns& a, const Unknowns& b) {
    double sum = 0;
    for (std::size_t i = 0; i < kUnknowns; ++i)
        sum += a[i] * b[i];
    return sum;
}

// The unknowns when the predicted quantity moves by `shift` and its variance by the factor
// `shrink`: the regression of each of them on it.
Estimate follow(const Estimate& before, const Unknowns& p_slope, double s2, double shift,
                double shrink) {
    Estimate after = before;
    for (std::size_t i = 0; i < kUnknowns; ++i) {
        after.mean[i] += p_slope[i] / s2 * shift;
        for (std::size_t j = 0; j < kUnknowns; ++j)
            after.covariance[i * kUnknowns + j] -= p_slope[i] * p_slope[j] / s2 * (1.0 - shrink);
    }
    for (const Unknown factor :
         {Unknown::evaporation, Unknown::rate, Unknown::uniformity, Unknown::intake}) {
        const FactorBounds limit = bounds(factor);
        double& mean = after.mean[at(factor)];
        mean = std::clamp(mean, std::log(limit.low), std::log(limit.high));
    }
    return after;
}

double normal_density(double z) {
    return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
}
double normal_below(double z) {
    return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

} // namespace

FactorBounds bounds(Unknown factor) {
    switch (factor) {
    case Unknown::evaporation:
        return {0.6, 1.6};
    case Unknown::rate:
        return {0.5, 2.0};
    case Unknown::uniformity:
        return {0.5, 1.6};
    case Unknown::intake:
        return {0.1, 4.0};
    case Unknown::probe_offset:
    case Unknown::eye_offset:
        break;
    }
    CHECK(false);
    return {};
}

Factors factors(const Estimate& estimate) {
    const auto value = [&](Unknown u) { return std::exp(estimate.mean[at(u)]); };
    return {value(Unknown::evaporation), value(Unknown::rate), value(Unknown::uniformity),
            value(Unknown::intake)};
}

Estimate prior(garden::RateSource source) {
    Estimate e;
    const Unknowns sd{kEvaporationSd, rate_sd(source), kUniformitySd,
                      kIntakeSd,      kProbeOffsetSd,  kEyeOffsetSd};
    for (std::size_t i = 0; i < kUnknowns; ++i)
        e.covariance[i * kUnknowns + i] = sd[i] * sd[i];
    return e;
}

Estimate with_reading(const Estimate& before, const Prediction& prediction, double seen,
                      double error_sd, double weight) {
    CHECK(error_sd > 0 && weight >= 0 && weight <= 1);
    const Unknowns p_slope = times(before.covariance, prediction.slope);
    const double s2 = dot(prediction.slope, p_slope);
    if (s2 < 1e-12 || weight <= 0) return before;
    const double error = error_sd * error_sd / weight;
    const double gain = s2 / (s2 + error);
    return follow(before, p_slope, s2, gain * (seen - prediction.value), 1.0 - gain);
}

Estimate with_report_above(const Estimate& before, const Prediction& prediction, double limit,
                           double error_sd, double weight) {
    CHECK(error_sd > 0 && weight >= 0 && weight <= 1);
    const Unknowns p_slope = times(before.covariance, prediction.slope);
    const double s2 = dot(prediction.slope, p_slope);
    if (s2 < 1e-12 || weight <= 0) return before;
    const double root = std::sqrt(error_sd * error_sd + s2);
    const double z = (prediction.value - limit) / root;
    const double likely = std::max(normal_below(z), 1e-12);
    // Of a report that is honest: how x moves, and its variance.
    const double ratio = normal_density(z) / likely;
    const double honest_shift = s2 / root * ratio;
    const double honest_s2 = s2 - s2 * s2 / (root * root) * ratio * (z + ratio);
    // Mixed with what a slip leaves: nothing.
    const double honest = (1 - 2 * kSlips) * likely / (kSlips + (1 - 2 * kSlips) * likely);
    const double shift = honest * honest_shift;
    const double new_s2 = (1 - honest) * s2 + honest * honest_s2 +
                          honest * (1 - honest) * honest_shift * honest_shift;
    // A part of an observation is the power of its likelihood: of the normal one that would have
    // brought these moments, the precision times the weight. A surprise may widen what is
    // believed; that is then left as it was.
    const double precision = std::max(1 / new_s2 - 1 / s2, 1e-9);
    const double seen = shift * (1 / s2 + precision) / precision; // relative to the prediction
    const double gain = s2 / (s2 + 1 / (weight * precision));
    return follow(before, p_slope, s2, gain * seen, 1.0 - gain);
}

Estimate forget(const Estimate& estimate, Unknown unknown, const Estimate& prior) {
    Estimate e = estimate;
    const std::size_t k = at(unknown);
    e.mean[k] = prior.mean[k];
    for (std::size_t i = 0; i < kUnknowns; ++i) {
        e.covariance[i * kUnknowns + k] = 0;
        e.covariance[k * kUnknowns + i] = 0;
    }
    e.covariance[k * kUnknowns + k] = prior.covariance[k * kUnknowns + k];
    return e;
}

double report_weight(std::optional<Seconds> since_last) {
    if (!since_last) return 1;
    const double r =
        std::exp(-static_cast<double>(std::max(since_last->count(), Seconds::rep{0})) / kMemoryS);
    return (1 - r) / (1 + r);
}

} // namespace firstmow::watering
