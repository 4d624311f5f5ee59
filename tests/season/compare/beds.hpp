// The engine's column and the judge's behind the same few calls, so that a trial can run either.
//
// Both have the soil of lib/soil's hydraulics, 300 mm deep with free drainage, and see the same
// surface. Water contents, potentials and sums are directly comparable.
#pragma once

#include "judge/richards.hpp"
#include "soil/column.hpp"

#include <memory>

namespace firstmow::compare {

inline constexpr double kStep_s = 300;
inline constexpr double kSeedDepth_mm = 10; // the seed zone of the issue: the top centimetre

judge::SaxtonRawls judge_soil(const soil::Composition& soil);
// From 0.125 mm at the surface; error studies are in the judge's own tests.
const judge::Grid& usual_grid();

class EngineBed {
public:
    EngineBed(soil::TextureClass texture, double start_kpa, int refine = 1);
    soil::Flows step(const soil::SurfaceForcing& forcing);
    double seed_kpa() const { return soil::seed_zone_kpa(column_, state_); }
    double seed_mm() const { return soil::seed_zone_mm(column_, state_); }
    double storage_mm() const { return soil::storage_mm(column_, state_); }

private:
    soil::Column column_;
    soil::ColumnState state_;
};

class JudgeBed {
public:
    JudgeBed(soil::TextureClass texture, double start_kpa, bool thermal = false);
    soil::Flows step(const soil::SurfaceForcing& forcing);
    double seed_kpa() const { return profile_.mean_kpa(kSeedDepth_mm); }
    double seed_mm() const { return profile_.mean_theta(kSeedDepth_mm) * kSeedDepth_mm; }
    double storage_mm() const { return profile_.storage_mm(); }
    const judge::Profile& profile() const { return profile_; }

private:
    std::shared_ptr<const judge::SaxtonRawls> medium_; // shared by copies, which refer to it
    judge::Profile profile_;
};

} // namespace firstmow::compare
