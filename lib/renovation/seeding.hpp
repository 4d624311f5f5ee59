// How much seed, and how high each grass is mown.
//
// Rates are pure live seed, g/m2 (1 lb/1000 ft2 = 4.8824 g/m2); sources per species in
// seeding.cpp.
#pragma once

#include "garden/garden.hpp"

#include <span>
#include <string_view>

namespace firstmow::renovation {

inline constexpr double kGramsPerM2OfPoundsPer1000Ft2 = 453.59237 / 92.90304;

struct SeedRate {
    turf::Species species{};
    double new_low_g_per_m2 = 0;
    double new_high_g_per_m2 = 0;
    double overseed_low_g_per_m2 = 0; // half of the new rate where nothing better is published
    double overseed_high_g_per_m2 = 0;
};
const SeedRate& seed_rate(turf::Species species);

// The rate of a mix: each part covers its share of the ground at the middle of its own rate, so
// that the shares by weight add up (a weighted harmonic mean).
double mix_rate_g_per_m2(std::span<const garden::MixPart> mix, bool overseed);

// What to buy: pure live seed over purity times germination, both 0..1 (6 lb / (0.98 x 0.85) =
// 7.20 lb).
double bulk_seed(double pure_live, double purity, double germination);

// The height that the mix is kept at (turf/mowing.hpp).
double mow_height_mm(std::span<const garden::MixPart> mix);

} // namespace firstmow::renovation
