// The seeds of a lot are not alike, and no two lots are: how both are reckoned with.
//
// Within a lot the thermal times of the seeds are spread log-normally around the median (quicker
// seeds crowd, slower ones trail; the form that falls out of the population models of Gummerson
// 1986 and Bradford 1990, with a spread of base water potentials, to within a few hundredths). A
// lot is cut into classes of equal size, quickest first, each with its own survivors.
//
// Between lots the median differs from the book's by a factor, `slowness`: age, cultivar, depth,
// contact with the soil, and the error of our own parameters. What is believed of it is a
// distribution over a fixed grid of log(slowness), symmetric around the book.
#pragma once

#include <array>
#include <cstddef>

namespace firstmow::turf {

inline constexpr std::size_t kLotClasses = 10;
using LotShares = std::array<double, kLotClasses>;

// Relative spread (log standard deviation) of the thermal times inside of a lot. Engineering
// default, no source: half of the seedlings visible at tau 2.1 and nine tenths at 2.5.
inline constexpr double kLotSpread = 0.136;

// Share (0..1) of the lot for which a stage is over that the median seed reaches at `median_tau`,
// when the median seed is at `own_tau`.
double lot_share(double own_tau, double median_tau);
// The same, as the part of each class.
LotShares lot_shares(double own_tau, double median_tau);

inline constexpr std::size_t kSpeeds = 51;
inline constexpr double kSpeedStep = 0.05; // of log(slowness); the grid spans a factor of 3.5

// Weights of the grid, sum 1.
using LotBelief = std::array<double, kSpeeds>;

// Slowness that a point of the grid stands for: below 1 quicker than the book.
double slowness_at(std::size_t point);
// Before anything was seen: log-normal with this relative uncertainty, and a little of everything,
// for lots do surprise (3 % with a log standard deviation of 0.6; default).
LotBelief prior_belief(double uncertainty);
// Bayes: weights times likelihood, made to sum to 1. False, and nothing changed, when the
// likelihood leaves (nearly) nothing of the belief: what was seen then is taken for a mistake.
bool update_belief(LotBelief& belief, const LotBelief& likelihood);
// Geometric mean of the slowness.
double mean_slowness(const LotBelief& belief);
// Slowness that a lot stays below with this probability, 0 < probability < 1.
double slowness_quantile(const LotBelief& belief, double probability);

} // namespace firstmow::turf
