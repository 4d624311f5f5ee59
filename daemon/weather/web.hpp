// Asking a web server one thing, with every bound that a stranger's answer needs.
//
// HTTPS with the certificate and its name checked against the system's authorities (and, if given,
// a file of one's own); plain HTTP only where the address says so. One deadline over all of it, a
// most of bytes for head and body, no redirects but within the same server. Blocking: for a thread
// of its own, never the control loop. Never throws.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace firstmow::weather_source {

struct Url {
    bool secure = true;
    std::string host; // a name or a literal address, without brackets
    std::string port;
    std::string path; // with query, begins with '/'; of a base without the last '/'
    // The Host header; the port only when it is not the usual one.
    std::string authority() const;
    bool same_server(const Url& other) const;
};
// "https://HOST[:PORT][/PATH]" or "http://...".
Result<Url> parse_url(std::string_view text);

struct WebRequest {
    std::string url;
    std::vector<std::pair<std::string, std::string>> headers;
    std::string ca_file; // PEM, beside the system's; empty: none
    Millis deadline{30'000};
    std::size_t most_bytes = 4 * 1024 * 1024; // of the body
};

struct WebReply {
    int status = 0; // whatever the server said; 304 too
    std::string content_type;
    std::string body;
    std::optional<std::string> last_modified;
    std::optional<std::string> etag;
    std::optional<Seconds> fresh_for; // Cache-Control: max-age, else Expires less Date
    std::optional<Seconds> retry_after;
};

// An Error when there was no whole reply: one sentence on why (no such name, refused, too slow, a
// wrong certificate, too long, cut off, a redirect to elsewhere, stopped).
Result<WebReply> fetch(const WebRequest& request, const std::atomic<bool>& stop) noexcept;

// "Sun, 06 Nov 1994 08:49:37 GMT" (RFC 9110), nothing if it is not such.
std::optional<WallTime> parse_http_date(std::string_view text);

} // namespace firstmow::weather_source
