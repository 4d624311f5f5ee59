// Refusals in the form of RFC 9457 (application/problem+json): what is wrong and what would be
// right.
#pragma once

#include "http/message.hpp"

#include <string>
#include <string_view>

namespace firstmow::http {

// `kind` is a short name for programs ("unknown-zone"), `detail` a sentence for people.
Reply problem(int status, std::string_view kind, const std::string& detail);

// The standard phrase of a status code that we use.
std::string_view status_phrase(int status);

} // namespace firstmow::http
