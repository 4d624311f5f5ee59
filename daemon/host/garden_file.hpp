// The garden file on disk: read, checked, and made ready for the engine.
#pragma once

#include "engine/engine.hpp"

#include <string>
#include <variant>
#include <vector>

namespace firstmow::host {

inline constexpr std::size_t kLargestGarden = 1024 * 1024;

struct GardenFile {
    std::string path;
    std::string text;
    engine::Setup setup;
};

// The garden, or every error as a line "FILE:LINE:COLUMN: ...".
using GardenOrErrors = std::variant<GardenFile, std::vector<std::string>>;
GardenOrErrors load_garden(const std::string& path);
// The same from text that has been kept (the journal's copy); `path` is only named in errors.
GardenOrErrors garden_from_text(const std::string& path, std::string text);

} // namespace firstmow::host
