// Files, whole: read with a bound, written so that a power cut leaves the old or the new one.
#pragma once

#include "base/result.hpp"

#include <cstddef>
#include <string>

namespace firstmow::host {

inline constexpr std::size_t kLargestFile = 64 * 1024 * 1024;

// "PATH: No such file or directory; ..." on failure.
Result<std::string> read_file(const std::string& path, std::size_t largest = kLargestFile);

// Written beside it, flushed, then renamed over it. `mode` as for open(2).
Status write_file(const std::string& path, const std::string& content, unsigned mode = 0644);

Status make_directory(const std::string& path);

// `name` as seen from the folder in which `file` lies; absolute names stay.
std::string beside(const std::string& file, const std::string& name);

} // namespace firstmow::host
