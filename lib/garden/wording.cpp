#include "garden/wording.hpp"

#include "base/check.hpp"
#include "base/text.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>

namespace firstmow::garden {

namespace {

constexpr char32_t kTorn = 0xFFFFFFFF;

// Takes the first character off `rest` (not empty); kTorn, and one byte, where it is not UTF-8.
char32_t take_character(std::string_view& rest) {
    const auto lead = static_cast<std::uint8_t>(rest.front());
    std::size_t length = 1;
    char32_t code = lead;
    if (lead >= 0xF0 && lead < 0xF8) {
        length = 4;
        code = lead & 0x07U;
    } else if (lead >= 0xE0 && lead < 0xF0) {
        length = 3;
        code = lead & 0x0FU;
    } else if (lead >= 0xC0 && lead < 0xE0) {
        length = 2;
        code = lead & 0x1FU;
    } else if (lead >= 0x80) {
        code = kTorn;
    }
    bool whole = code != kTorn && rest.size() >= length;
    for (std::size_t i = 1; whole && i < length; ++i) {
        const auto next = static_cast<std::uint8_t>(rest[i]);
        whole = (next & 0xC0U) == 0x80U;
        code = code << 6U | (next & 0x3FU);
    }
    rest.remove_prefix(whole ? length : 1);
    return whole ? code : kTorn;
}

// Control characters, line and paragraph separators, and the marks that turn the direction of
// the text around them (they make a line read otherwise than it is written).
bool controls(char32_t code) {
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 || code == 0x2029 ||
           (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

} // namespace

std::string in_quotes(std::string_view text) {
    constexpr int kLongest = 60;
    std::string line = "\"";
    int characters = 0;
    while (!text.empty()) {
        if (++characters > kLongest) {
            line += "...";
            break;
        }
        const std::string_view before = text;
        const char32_t code = take_character(text);
        if (code == kTorn || controls(code))
            line += '?';
        else
            line += before.substr(0, before.size() - text.size());
    }
    return line + '"';
}

std::string choice_of(std::span<const std::string_view> words) {
    std::string list;
    for (std::size_t i = 0; i < words.size(); ++i) {
        if (i > 0) list += i + 1 == words.size() ? " or " : ", ";
        list += in_quotes(words[i]);
    }
    return list;
}

std::optional<std::string> near_word(std::string_view word,
                                     std::span<const std::string_view> known) {
    if (word.size() < 3) return std::nullopt;
    return nearest(word, known);
}

std::string hint(std::string_view word, std::span<const std::string_view> known) {
    if (const auto near = near_word(word, known)) return "did you mean " + in_quotes(*near) + "?";
    return (known.size() > 1 ? "one of " : "") + choice_of(known) + " would be right";
}

std::string plain(double value) {
    CHECK(std::isfinite(value));
    std::array<char, 400> buffer{};
    const auto [end, fault] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                            std::chars_format::fixed);
    CHECK(fault == std::errc{});
    return std::string(buffer.data(), end);
}

std::optional<std::string> unprintable(std::string_view text, std::size_t longest) {
    if (text.find_first_not_of(' ') == std::string_view::npos) return "is empty";
    std::size_t characters = 0;
    while (!text.empty()) {
        const char32_t code = take_character(text);
        if (code == kTorn) return "holds a torn character";
        if (controls(code)) return "holds a control character";
        if (++characters > longest)
            return "is longer than " + std::to_string(longest) + " characters";
    }
    return std::nullopt;
}

} // namespace firstmow::garden
