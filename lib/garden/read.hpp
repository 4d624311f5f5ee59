// Reading a garden file: TOML in, a checked Garden or every error it holds.
//
// Bounds: 256 KiB of text, 32 dots in a line, 64 zones, 32 sensors. The keys of a table, each with
// an example, stand at the top of read_site.cpp, read_supply.cpp, read_zone.cpp,
// read_sprinklers.cpp, read_establishment.cpp, read_renovation.cpp, read_valve.cpp,
// read_interlocks.cpp, read_sensor.cpp, read_reach.cpp, read_tell.cpp, read.cpp; ranges beside it.
// config/garden.toml explains them all.
#pragma once

#include "garden/garden.hpp"

#include <functional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace firstmow::garden {

// 1-based place in the file, and one sentence: what is wrong, and what would be right.
struct FileError {
    int line = 1;
    int column = 1;
    std::string message;
};

// "FILE:LINE:COLUMN: message".
std::string located(std::string_view file, const FileError& error);

struct ReadOptions {
    // Whether the system's time-zone database knows a name; every name passes when empty.
    std::function<bool(std::string_view)> is_timezone;
};

// All errors of a file at once (a syntax error ends the reading, so it stands alone). Unknown keys
// are errors that name the nearest known key.
std::variant<Garden, std::vector<FileError>> read(std::string_view toml_text,
                                                  const ReadOptions& options = {});

} // namespace firstmow::garden
