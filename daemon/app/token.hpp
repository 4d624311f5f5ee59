// The first key: made once, kept in the state folder, readable by its owner only. It is for the
// companion on this machine and for a printed link; further ones stand in the book.
#pragma once

#include "base/result.hpp"

#include <string>

namespace firstmow::app {

// Of `path`; made with 128 random bits when the file is not there.
Result<std::string> load_or_make_token(const std::string& path);

} // namespace firstmow::app
