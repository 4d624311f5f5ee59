// Small private files. Inside of the room.
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::access {

// The whole of it; nothing when it is not there, cannot be read, or is larger than 1 KiB.
std::optional<std::string> read_small(const std::string& path);
// Written beside it, then renamed over it; 0600, and the folder's owner's.
Status write_private(const std::string& path, const std::string& text);
// 0700, and the owner's of the folder above it. Done when it is there already.
Status make_private_folder(const std::string& path);
// False when it was not there.
bool remove_file(const std::string& path);
// Names that begin so, sorted.
std::vector<std::string> names_in(const std::string& folder, std::string_view beginning);

} // namespace firstmow::access
