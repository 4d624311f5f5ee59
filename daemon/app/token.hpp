// The key that every write needs: made once, kept in the state folder, readable by its owner only.
#pragma once

#include "base/result.hpp"

#include <string>

namespace firstmow::app {

// Of `path`; made with 128 random bits when the file is not there.
Result<std::string> load_or_make_token(const std::string& path);

} // namespace firstmow::app
