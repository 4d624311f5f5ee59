// A request and its reply, free of any network library, so that everything above the socket can be
// read and tested without one.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace firstmow::http {

enum class Method : std::uint8_t { get, head, post, del, other };
std::string_view key(Method method);

using Header = std::pair<std::string, std::string>;

struct Request {
    Method method = Method::get;
    std::string path;            // as sent, up to '?'
    std::string query;           // after '?', as sent
    std::string host;            // the Host header; empty when missing
    std::vector<Header> headers; // names in lower case
    std::string body;
    std::string peer; // literal address of the other end

    // The value of the first such header (name in lower case), or "".
    std::string_view header(std::string_view name) const;
};

struct Reply {
    int status = 200;
    std::string content_type;
    std::vector<Header> headers;
    std::string body;
    // Instead of `body`, text that many replies share: it is sent without being copied.
    std::shared_ptr<const std::string> shared;
    bool event_stream = false; // keep the connection and send events
    // Of an event stream: whether who asked for it may still have it. Empty: always.
    std::function<bool()> welcome;

    std::string_view text() const { return shared ? *shared : body; }
};

using Responder = std::function<void(Reply)>;

// "type/subtype" of a Content-Type value in lower case, without parameters.
std::string media_type(std::string_view content_type);
// Whether an Accept value names the media type with a weight above 0 ("*/*" does not count).
bool accepts(std::string_view accept, std::string_view media_type);
// Whether `address` is an IPv4 or IPv6 literal (without brackets).
bool is_ip_literal(std::string_view address);

} // namespace firstmow::http
