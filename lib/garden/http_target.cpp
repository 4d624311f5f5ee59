#include "garden/http_target.hpp"

#include <optional>

namespace firstmow::garden {

namespace {

// Digits alone, without a leading zero that some would read as octal.
std::optional<int> whole(std::string_view text, int high) {
    if (text.empty() || text.size() > 5 || (text.size() > 1 && text[0] == '0')) return std::nullopt;
    int value = 0;
    for (const char c : text) {
        if (c < '0' || c > '9') return std::nullopt;
        value = value * 10 + (c - '0');
    }
    if (value > high) return std::nullopt;
    return value;
}

} // namespace

Result<HttpTarget> parse_http_target(std::string_view url) {
    constexpr std::string_view kScheme = "http://";
    if (url.substr(0, 8) == "https://")
        return Error{"asks for TLS, which the valve keeper does not speak"};
    if (url.substr(0, kScheme.size()) != kScheme) return Error{"does not begin with http://"};
    url.remove_prefix(kScheme.size());
    HttpTarget target;
    const std::size_t slash = url.find('/');
    std::string_view host = url.substr(0, slash);
    target.path = slash == std::string_view::npos ? "/" : std::string(url.substr(slash));
    for (const char c : target.path)
        if (c <= ' ' || c > '~' || c == '#') return Error{"holds a character that a path does not"};
    if (const std::size_t colon = host.find(':'); colon != std::string_view::npos) {
        const auto port = whole(host.substr(colon + 1), 65535);
        if (!port || *port == 0) return Error{"has no port from 1 to 65535 after the colon"};
        target.port = *port;
        host = host.substr(0, colon);
    }
    for (std::size_t i = 0; i < 4; ++i) {
        const std::size_t dot = i < 3 ? host.find('.') : host.size();
        if (dot == std::string_view::npos) return Error{"has no numeric IPv4 address"};
        const auto part = whole(host.substr(0, dot), 255);
        if (!part) return Error{"has no numeric IPv4 address"};
        target.address[i] = static_cast<std::uint8_t>(*part);
        if (i < 3) host.remove_prefix(dot + 1);
    }
    return target;
}

std::string host_of(const HttpTarget& target) {
    std::string host;
    for (const std::uint8_t part : target.address)
        host += (host.empty() ? "" : ".") + std::to_string(part);
    if (target.port != 80) host += ":" + std::to_string(target.port);
    return host;
}

std::string to_text(const HttpTarget& target) {
    return "http://" + host_of(target) + target.path;
}

} // namespace firstmow::garden
