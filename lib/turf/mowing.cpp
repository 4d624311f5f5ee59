#include "turf/mowing.hpp"

#include "turf/mix.hpp"

#include <algorithm>

namespace firstmow::turf {

namespace {
constexpr double kUnknownHeightMm = 63.5; // 2.5 in, bluegrass
constexpr double kTall = 1.33;            // of the height: a third comes off
} // namespace

double mow_height_mm(const std::vector<MixShare>& mix) {
    double height = 0;
    for (const MixShare& part : mix)
        if (part.share >= kImportantShare)
            height = std::max(height, traits(part.species).mow_low_mm);
    return height > 0 ? height : kUnknownHeightMm;
}

MowAdvice mow_advice(const Progress& progress) {
    std::vector<MixShare> mix;
    for (const SpeciesProgress& species : progress.species)
        mix.push_back({species.species, species.share});
    MowAdvice advice;
    advice.cut_to_mm = mow_height_mm(mix);
    advice.when_tall_mm = kTall * advice.cut_to_mm;
    if (ready_for_first_mow(progress))
        advice.due = Mow::first;
    else if (standing_turf_wants_cut(progress))
        advice.due = Mow::standing_turf;
    return advice;
}

std::optional<WallTime> keep_off_until(const Progress& progress,
                                       std::optional<WallTime> first_mow) {
    switch (progress.method) {
    case Method::none:
        return std::nullopt;
    case Method::sod:
        return *progress.sown + std::chrono::days{kKeepOffSodDays};
    case Method::seed:
    case Method::overseed:
        break;
    }
    return progress.first_mow ? progress.first_mow : first_mow;
}

} // namespace firstmow::turf
