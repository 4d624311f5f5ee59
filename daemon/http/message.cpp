#include "http/message.hpp"

#include <arpa/inet.h>

#include <algorithm>

namespace firstmow::http {
namespace {

char lower(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c;
}

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && (text.front() == ' ' || text.front() == '\t'))
        text.remove_prefix(1);
    while (!text.empty() && (text.back() == ' ' || text.back() == '\t'))
        text.remove_suffix(1);
    return text;
}

// "q=0", "q=0.0", ...: the sender does not want it.
bool weight_is_zero(std::string_view parameters) {
    const auto q = parameters.find("q=");
    if (q == std::string_view::npos) return false;
    const std::string_view weight = parameters.substr(q + 2);
    return weight.starts_with('0') &&
           std::all_of(weight.begin(), weight.end(), [](char c) { return c == '0' || c == '.'; });
}

} // namespace

std::string_view key(Method method) {
    switch (method) {
    case Method::get:
        return "GET";
    case Method::head:
        return "HEAD";
    case Method::post:
        return "POST";
    case Method::del:
        return "DELETE";
    case Method::other:
        break;
    }
    return "?";
}

std::string_view Request::header(std::string_view name) const {
    for (const Header& header : headers)
        if (header.first == name) return header.second;
    return {};
}

std::string media_type(std::string_view content_type) {
    std::string type{trimmed(content_type.substr(0, content_type.find(';')))};
    std::transform(type.begin(), type.end(), type.begin(), lower);
    return type;
}

bool accepts(std::string_view accept, std::string_view wanted) {
    while (!accept.empty()) {
        const auto comma = accept.find(',');
        const std::string_view range = trimmed(accept.substr(0, comma));
        const auto semicolon = range.find(';');
        if (media_type(range) == wanted) {
            const bool refused =
                semicolon != std::string_view::npos && weight_is_zero(range.substr(semicolon));
            return !refused;
        }
        if (comma == std::string_view::npos) break;
        accept.remove_prefix(comma + 1);
    }
    return false;
}

bool is_ip_literal(std::string_view address) {
    const std::string text{address};
    unsigned char bytes[16];
    return inet_pton(AF_INET, text.c_str(), bytes) == 1 ||
           inet_pton(AF_INET6, text.c_str(), bytes) == 1;
}

} // namespace firstmow::http
