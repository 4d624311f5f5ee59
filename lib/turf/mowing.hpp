// When and how to mow young grass, and how long to keep off it.
//
// Heights are those of the species table (from memory); the first mow comes when the grass stands a
// third above its height, and takes no more than that third (the one-third rule; Cornell, K-State:
// dry surface, sharp blade, less water the day before). Keep-off times are common practice, no
// source, but for light use after 8-10 weeks (Penn State, perennial ryegrass).
#pragma once

#include "turf/establishment.hpp"

namespace firstmow::turf {

enum class Mow : std::uint8_t {
    none,
    standing_turf, // the turf that was overseeded, lightly, before the new grass is up to it
    first,         // the first mow of new grass or sod
};

struct MowAdvice {
    Mow due = Mow::none;
    double cut_to_mm = 0;    // leave it so high
    double when_tall_mm = 0; // wait until most of it is so high
};
MowAdvice mow_advice(const Progress& progress);

// The height that these grasses are kept at: the highest of their lower ends, so that none is
// scalped; 64 mm where nothing is named.
double mow_height_mm(const std::vector<MixShare>& mix);

inline constexpr int kKeepOffSodDays = 21;    // two to three weeks
inline constexpr int kLightUseAfterDays = 63; // 8-10 weeks

// Until when nobody should walk on it: three weeks for sod; for seed until the first mow, as it was
// reported or (`first_mow`) is expected. Nothing for a grown-in lawn.
std::optional<WallTime> keep_off_until(const Progress& progress, std::optional<WallTime> first_mow);

} // namespace firstmow::turf
