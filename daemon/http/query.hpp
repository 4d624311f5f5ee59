// The part of a target after '?': names and values, decoded.
#pragma once

#include "base/result.hpp"

#include <map>
#include <span>
#include <string>
#include <string_view>

namespace firstmow::http {

using Query = std::map<std::string, std::string, std::less<>>;

// Only names of `known` are right, each at most once; anything else is an Error that says so.
Result<Query> parse_query(std::string_view text, std::span<const std::string_view> known);

} // namespace firstmow::http
