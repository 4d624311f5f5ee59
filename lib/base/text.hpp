// Text at the edges of the core: numbers that read the same in every locale, CSV fields, and the
// nearest known word to a misspelt one.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow {

// Fixed-point with `decimals` digits; never in exponent form, "-0.00" is written "0.00".
// `value` must be finite.
std::string fixed(double value, int decimals);

// The whole of `text` as a finite decimal number; nothing else (no blanks, no nan, no hex).
std::optional<double> parse_number(std::string_view text);

// Splits at commas; no quoting (our weather and event files need none). A trailing '\r' is not
// part of the last field. Views into `line`.
std::vector<std::string_view> split_commas(std::string_view line);

// A CSV field of RFC 4180: quoted when it holds a comma, a quote or a line break.
std::string csv_field(std::string_view text);

// The word of `known` that is nearest to `word` by edit distance, if near enough to be meant.
std::optional<std::string> nearest(std::string_view word, std::span<const std::string_view> known);

} // namespace firstmow
