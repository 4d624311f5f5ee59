// The address of an HTTP relay, as a garden file writes it: http://192.168.1.40:8080/path?query
#pragma once

#include "base/result.hpp"
#include "garden/garden.hpp"

#include <string>
#include <string_view>

namespace firstmow::garden {

// The error says what is wrong with it, to be put behind the text itself.
Result<HttpTarget> parse_http_target(std::string_view url);
// The port is left out when it is 80.
std::string to_text(const HttpTarget& target);
// What a Host header calls it.
std::string host_of(const HttpTarget& target);

} // namespace firstmow::garden
