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

// Whether replace_file() can be hoped for: empty, or a sentence that says what stands in the way
// and what would help.
std::string why_not_replaceable(const std::string& path);

enum class Replaced { done, other_content };
// Puts `content` in the place of `before`, whole or not at all; when something else than `before`
// is there now, nothing is done. Mode and owner stay, and PATH.before keeps what was there. A link
// is followed.
Result<Replaced> replace_file(const std::string& path, const std::string& before,
                              const std::string& content);

Status make_directory(const std::string& path);

// `name` as seen from the folder in which `file` lies; absolute names stay.
std::string beside(const std::string& file, const std::string& name);

} // namespace firstmow::host
