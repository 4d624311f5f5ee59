#include "turf/seed_lot.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstmow::turf {

namespace {

constexpr double kSurpriseShare = 0.03;
constexpr double kSurpriseSpread = 0.6;
// A report that even the surprising lots hardly explain.
constexpr double kLeastEvidence = 1e-4;

double normal_below(double deviations) {
    return 0.5 * std::erfc(-deviations / std::numbers::sqrt2);
}

double log_slowness_at(double point) {
    return (point - static_cast<double>(kSpeeds - 1) / 2) * kSpeedStep;
}

double bell(double x, double spread) {
    return std::exp(-0.5 * (x / spread) * (x / spread)) / spread;
}

} // namespace

double lot_share(double own_tau, double median_tau) {
    if (own_tau <= 0) return 0;
    return normal_below(std::log(own_tau / median_tau) / kLotSpread);
}

LotShares lot_shares(double own_tau, double median_tau) {
    const double done = lot_share(own_tau, median_tau) * static_cast<double>(kLotClasses);
    LotShares shares{};
    for (std::size_t k = 0; k < kLotClasses; ++k)
        shares[k] = std::clamp(done - static_cast<double>(k), 0.0, 1.0);
    return shares;
}

double slowness_at(std::size_t point) {
    return std::exp(log_slowness_at(static_cast<double>(point)));
}

LotBelief prior_belief(double uncertainty) {
    CHECK(uncertainty > 0);
    LotBelief belief{};
    double sum = 0;
    for (std::size_t i = 0; i < kSpeeds; ++i) {
        const double x = log_slowness_at(static_cast<double>(i));
        belief[i] =
            (1 - kSurpriseShare) * bell(x, uncertainty) + kSurpriseShare * bell(x, kSurpriseSpread);
        sum += belief[i];
    }
    for (double& weight : belief)
        weight /= sum;
    return belief;
}

bool update_belief(LotBelief& belief, const LotBelief& likelihood) {
    LotBelief posterior{};
    double sum = 0;
    for (std::size_t i = 0; i < kSpeeds; ++i) {
        posterior[i] = belief[i] * likelihood[i];
        sum += posterior[i];
    }
    if (!(sum > kLeastEvidence)) return false;
    for (std::size_t i = 0; i < kSpeeds; ++i)
        belief[i] = posterior[i] / sum;
    return true;
}

double mean_slowness(const LotBelief& belief) {
    double mean = 0;
    for (std::size_t i = 0; i < kSpeeds; ++i)
        mean += belief[i] * log_slowness_at(static_cast<double>(i));
    return std::exp(mean);
}

double slowness_quantile(const LotBelief& belief, double probability) {
    CHECK(probability > 0 && probability < 1);
    // The weight of a point lies evenly over the cell around it.
    double below = 0;
    for (std::size_t i = 0; i < kSpeeds; ++i) {
        if (below + belief[i] < probability) {
            below += belief[i];
            continue;
        }
        const double within = belief[i] > 0 ? (probability - below) / belief[i] : 0.5;
        return std::exp(log_slowness_at(static_cast<double>(i) - 0.5 + within));
    }
    return slowness_at(kSpeeds - 1);
}

} // namespace firstmow::turf
