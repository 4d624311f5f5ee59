#include "http/status_text.hpp"

#include "access/secrets.hpp"
#include "http/gzip.hpp"
#include "http/snapshots.hpp"

#include <utility>

namespace firstmow::http {

bool StatusText::look(const Backend& backend) {
    auto view = backend.view();
    if (!view) return false;
    if (view == view_) return true;
    json_ = std::make_shared<const std::string>(status_json(*view, backend) + '\n');
    packed_ = nullptr;
    etag_.clear();
    view_ = std::move(view);
    return true;
}

Reply StatusText::reply(const Request& request) {
    // Its hash, not a number: after a restart numbers would begin anew.
    if (etag_.empty()) etag_ = '"' + access::sha256_hex(*json_).substr(0, 16) + '"';
    Reply reply;
    reply.headers.emplace_back("ETag", etag_);
    reply.headers.emplace_back("Vary", "Accept-Encoding");
    if (request.header("if-none-match").find(etag_) != std::string_view::npos) {
        reply.status = 304;
        return reply;
    }
    reply.content_type = "application/json";
    if (!accepts_gzip(request)) {
        reply.shared = json_;
        return reply;
    }
    if (!packed_) packed_ = std::make_shared<const std::string>(gzip(*json_));
    if (packed_->empty()) {
        reply.shared = json_;
        return reply;
    }
    reply.shared = packed_;
    reply.headers.emplace_back("Content-Encoding", "gzip");
    return reply;
}

} // namespace firstmow::http
