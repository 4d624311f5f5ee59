#include "http/query.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <optional>

namespace firstmow::http {
namespace {

int digit_of(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

std::optional<std::string> decoded(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '+') {
            out += ' ';
        } else if (text[i] == '%') {
            if (i + 2 >= text.size()) return std::nullopt;
            const int high = digit_of(text[i + 1]);
            const int low = digit_of(text[i + 2]);
            if (high < 0 || low < 0) return std::nullopt;
            out += static_cast<char>(high * 16 + low);
            i += 2;
        } else {
            out += text[i];
        }
    }
    return out;
}

} // namespace

Result<Query> parse_query(std::string_view text, std::span<const std::string_view> known) {
    Query query;
    while (!text.empty()) {
        const auto end = text.find('&');
        const std::string_view pair = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
        if (pair.empty()) continue;
        const auto equals = pair.find('=');
        const auto name = decoded(pair.substr(0, equals));
        const auto value = decoded(equals == std::string_view::npos ? std::string_view{}
                                                                    : pair.substr(equals + 1));
        if (!name || !value)
            return Error{"the query has a '%' that is not followed by two hexadecimal digits"};
        if (std::find(known.begin(), known.end(), *name) == known.end()) {
            std::string message = "the query has no parameter '" + name->substr(0, 40) + "'";
            if (const auto hint = nearest(*name, known)) message += "; '" + *hint + "' is meant?";
            return Error{message};
        }
        if (!query.emplace(*name, *value).second)
            return Error{"the query gives '" + *name + "' twice; give it once"};
    }
    return query;
}

} // namespace firstmow::http
