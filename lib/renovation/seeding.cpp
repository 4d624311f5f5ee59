// Sources: UC IPM (University of California), K-State and Ohio State extension, Patton 2004 (Crop
// Science), each beside its figure.
#include "renovation/seeding.hpp"

#include "base/check.hpp"
#include "turf/mowing.hpp"

#include <array>

namespace firstmow::renovation {

namespace {

constexpr double kLb = kGramsPerM2OfPoundsPer1000Ft2;
constexpr SeedRate halved(turf::Species species, double low_lb, double high_lb) {
    return {species, low_lb * kLb, high_lb * kLb, low_lb * kLb / 2, high_lb * kLb / 2};
}

constexpr std::array<SeedRate, 8> kRates{{
    halved(turf::Species::kentucky_bluegrass, 2, 3),                   // UC IPM; Ohio 1-2
    halved(turf::Species::perennial_ryegrass, 6, 9),                   // UC IPM
    {turf::Species::tall_fescue, 6 * kLb, 10 * kLb, 4 * kLb, 6 * kLb}, // K-State; UC IPM 8-10
    halved(turf::Species::fine_fescue, 3.5, 4.5),                      // UC IPM
    halved(turf::Species::creeping_bentgrass, 0.5, 1),                 // UC IPM
    halved(turf::Species::bermudagrass, 0.25, 1),                      // Patton 2004
    halved(turf::Species::zoysiagrass, 1, 2),                          // Patton 2004
    halved(turf::Species::buffalograss, 2, 3),                         // secondary source
}};

} // namespace

const SeedRate& seed_rate(turf::Species species) {
    const auto index = static_cast<std::size_t>(species);
    CHECK(index < kRates.size() && kRates[index].species == species);
    return kRates[index];
}

double mix_rate_g_per_m2(std::span<const garden::MixPart> mix, bool overseed) {
    CHECK(!mix.empty());
    double ground_per_gram = 0;
    for (const garden::MixPart& part : mix) {
        const SeedRate& rate = seed_rate(part.species);
        const double middle = overseed
                                  ? (rate.overseed_low_g_per_m2 + rate.overseed_high_g_per_m2) / 2
                                  : (rate.new_low_g_per_m2 + rate.new_high_g_per_m2) / 2;
        ground_per_gram += part.share / middle;
    }
    return 1 / ground_per_gram;
}

double bulk_seed(double pure_live, double purity, double germination) {
    CHECK(purity > 0 && purity <= 1 && germination > 0 && germination <= 1);
    return pure_live / (purity * germination);
}

double mow_height_mm(std::span<const garden::MixPart> mix) {
    std::vector<turf::MixShare> shares;
    for (const garden::MixPart& part : mix)
        shares.push_back({part.species, part.share});
    return turf::mow_height_mm(shares);
}

} // namespace firstmow::renovation
