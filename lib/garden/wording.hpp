// The pieces that error messages about a garden file are made of. Internal to the room.
//
// A message is one printable line, whatever the file holds.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace firstmow::garden {

// On one line, in quotes: control characters and torn UTF-8 become '?', long text is cut.
std::string in_quotes(std::string_view text);

// `"a", "b" or "c"`.
std::string choice_of(std::span<const std::string_view> words);

// The known word that a misspelt one was meant to be; none for words of one or two letters, which
// are near to everything.
std::optional<std::string> near_word(std::string_view word,
                                     std::span<const std::string_view> known);

// `did you mean "loam"?`, or `one of "sand", ... would be right` when nothing is near.
std::string hint(std::string_view word, std::span<const std::string_view> known);

// The shortest decimal number that reads back as `value`; `value` is finite.
std::string plain(double value);

// What keeps `text` from being shown as one line of at most `longest` characters: "is empty",
// "holds a control character", ...; nothing when it can be. Markup is text like any other.
std::optional<std::string> unprintable(std::string_view text, std::size_t longest);

} // namespace firstmow::garden
