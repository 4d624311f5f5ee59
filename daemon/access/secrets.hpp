// Secrets: how they are made, how they are compared, how a person types one.
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace firstmow::access {

// SHA-256 as 64 lower-case hexadecimal digits.
std::string sha256_hex(std::string_view text);
// Takes the same time wherever two texts of one length differ.
bool same(std::string_view a, std::string_view b);

// 128 random bits as 32 hexadecimal digits. An Error while the system has none to give.
Result<std::string> new_key();

// A code to type on a phone: eight letters and digits of which none looks like another, 33 bits.
// Written in two halves: "K7RM-4XPD".
Result<std::string> new_code();
// What was typed, without regard to case, spaces and dashes; nothing when it cannot be a code.
std::optional<std::string> as_code(std::string_view typed);

} // namespace firstmow::access
