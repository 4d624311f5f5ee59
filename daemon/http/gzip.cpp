#include "http/gzip.hpp"

#include <array>
#include <utility>
#include <zlib.h>

namespace firstmow::http {
namespace {

// Below this a packet is not filled anyway.
constexpr std::size_t kWorthIt = 1024;
// Some 20 ms of a small board at kLevel.
constexpr std::size_t kMost = 256 * 1024;
// Two thirds of the gain of the best for a quarter of its time.
constexpr int kLevel = 3;

bool is_text(std::string_view content_type) {
    const std::string type = media_type(content_type);
    return type.starts_with("text/") || type.starts_with("application/");
}

} // namespace

bool accepts_gzip(const Request& request) {
    return accepts(request.header("accept-encoding"), "gzip");
}

std::string gzip(std::string_view text) {
    constexpr int kGzipWindow = 15 + 16; // 32 kB, in the frame of gzip
    constexpr int kMemory = 8;
    z_stream stream{};
    if (deflateInit2(&stream, kLevel, Z_DEFLATED, kGzipWindow, kMemory, Z_DEFAULT_STRATEGY) != Z_OK)
        return {};
    std::string packed(deflateBound(&stream, static_cast<uLong>(text.size())), '\0');
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
    stream.avail_in = static_cast<uInt>(text.size());
    stream.next_out = reinterpret_cast<Bytef*>(packed.data());
    stream.avail_out = static_cast<uInt>(packed.size());
    const bool done = deflate(&stream, Z_FINISH) == Z_STREAM_END;
    packed.resize(done ? stream.total_out : 0);
    deflateEnd(&stream);
    return packed;
}

void pack(Reply& reply, bool accepted) {
    if (reply.shared || reply.status != 200 || reply.body.size() < kWorthIt) return;
    if (!is_text(reply.content_type)) return;
    for (const Header& header : reply.headers)
        if (header.first == "Content-Encoding") return;
    reply.headers.emplace_back("Vary", "Accept-Encoding");
    if (!accepted || reply.body.size() > kMost) return;
    std::string packed = gzip(reply.body);
    if (packed.empty()) return;
    reply.body = std::move(packed);
    reply.headers.emplace_back("Content-Encoding", "gzip");
}

} // namespace firstmow::http
