// What the bodies of rows and snapshots hold. For this folder only.
#pragma once

#include "journal/recorder.hpp"

namespace firstmow::journal {

std::string encode_garden(const GardenText& garden);
Result<GardenText> decode_garden(std::string_view body);

struct SnapshotBody {
    GardenText garden;
    std::string state; // engine::encode_state
};
std::string encode_snapshot(const GardenText& garden, const std::string& state);
Result<SnapshotBody> decode_snapshot(std::string_view body);

// The engine's setup of a garden as it was kept.
Result<engine::Setup> setup_of(const GardenText& garden);

} // namespace firstmow::journal
