#include "base/text.hpp"

#include "base/check.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace firstmow {

std::string fixed(double value, int decimals) {
    CHECK(std::isfinite(value));
    std::array<char, 400> buffer{};
    const auto [end, fault] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                            std::chars_format::fixed, decimals);
    CHECK(fault == std::errc{});
    std::string text(buffer.data(), end);
    if (text.front() == '-' && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
    return text;
}

std::optional<double> parse_number(std::string_view text) {
    double value = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, fault] = std::from_chars(text.data(), end, value);
    if (fault != std::errc{} || stopped != end || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::vector<std::string_view> split_commas(std::string_view line) {
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    std::vector<std::string_view> fields;
    for (;;) {
        const auto comma = line.find(',');
        fields.push_back(line.substr(0, comma));
        if (comma == std::string_view::npos) return fields;
        line.remove_prefix(comma + 1);
    }
}

std::string csv_field(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
    std::string quoted = "\"";
    for (const char c : text) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted + '"';
}

std::optional<std::string> nearest(std::string_view word, std::span<const std::string_view> known) {
    constexpr std::size_t kLongestWord = 64;
    if (word.size() > kLongestWord) return std::nullopt;
    std::optional<std::string> best;
    std::size_t best_distance = std::max<std::size_t>(2, word.size() / 3) + 1;
    std::vector<std::size_t> row;
    for (const std::string_view candidate : known) {
        // Levenshtein's distance, one row at a time.
        row.resize(candidate.size() + 1);
        for (std::size_t j = 0; j < row.size(); ++j)
            row[j] = j;
        for (std::size_t i = 1; i <= word.size(); ++i) {
            std::size_t diagonal = row[0];
            row[0] = i;
            for (std::size_t j = 1; j < row.size(); ++j) {
                const std::size_t change = diagonal + (word[i - 1] == candidate[j - 1] ? 0 : 1);
                diagonal = row[j];
                row[j] = std::min({change, row[j] + 1, row[j - 1] + 1});
            }
        }
        if (row.back() < best_distance) {
            best_distance = row.back();
            best = std::string(candidate);
        }
    }
    return best;
}

} // namespace firstmow
