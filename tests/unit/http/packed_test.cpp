// What is sent is packed for who accepts it, and not sent again to who has it.
#include "http/assets.hpp"
#include "http/gzip.hpp"
#include "serving.hpp"

#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <string>
#include <zlib.h>

using namespace firstmow;
using namespace firstmow::http;

namespace {

std::string unpacked(std::string_view packed) {
    z_stream stream{};
    REQUIRE_EQ(inflateInit2(&stream, 15 + 16), Z_OK); // gzip's frame and no other
    std::string text;
    char buffer[4096];
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream.avail_in = static_cast<uInt>(packed.size());
    int state = Z_OK;
    while (state == Z_OK) {
        stream.next_out = reinterpret_cast<Bytef*>(buffer);
        stream.avail_out = sizeof buffer;
        state = inflate(&stream, Z_NO_FLUSH);
        text.append(buffer, sizeof buffer - stream.avail_out);
    }
    inflateEnd(&stream);
    CHECK_EQ(state, Z_STREAM_END);
    return text;
}

struct Got {
    std::string head;
    std::string body;
    bool has(std::string_view header) const { return head.find(header) != std::string::npos; }
};

Got get(const Serving& serving, const std::string& path, const std::string& header = {}) {
    BareSocket socket(serving.port());
    socket.send("GET " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n" + header +
                "\r\n");
    const std::string all = socket.receive();
    const auto end = all.find("\r\n\r\n");
    REQUIRE_NE(end, std::string::npos);
    return {all.substr(0, end + 2), all.substr(end + 4)};
}

const std::string kGzip = "Accept-Encoding: gzip, deflate, br\r\n";

} // namespace

TEST_CASE("packed: text comes back whole, also none and a lot") {
    std::string much;
    for (int i = 0; i < 40'000; ++i)
        much += std::to_string(i * 7919 % 10007) + ' ';
    for (const std::string& text : {std::string(), std::string("x"), much})
        CHECK_EQ(unpacked(gzip(text)), text);
}

TEST_CASE("packed: every file of the page, by half and more where it is long") {
    for (const Asset& asset : assets()) {
        CAPTURE(asset.path);
        CHECK_EQ(unpacked(asset.packed), asset.body);
        if (asset.body.size() > 4000) CHECK_LT(asset.packed.size() * 2, asset.body.size());
    }
}

TEST_CASE("packed: whoever accepts it gets it, the others do not") {
    Serving serving;
    for (const char* path : {"/", "/app.js", "/api/v1/openapi.json", "/api/v1/status",
                             "/api/v1/moisture", "/api/v1/days"}) {
        CAPTURE(path);
        const Got packed = get(serving, path, kGzip);
        const Got plain = get(serving, path);
        const Got refused = get(serving, path, "Accept-Encoding: gzip;q=0\r\n");
        REQUIRE(packed.has("Content-Encoding: gzip\r\n"));
        CHECK(packed.has("Vary: Accept-Encoding\r\n"));
        CHECK(plain.has("Vary: Accept-Encoding\r\n"));
        CHECK_FALSE(plain.has("Content-Encoding"));
        CHECK_FALSE(refused.has("Content-Encoding"));
        CHECK_EQ(unpacked(packed.body), plain.body);
        CHECK_EQ(refused.body, plain.body);
        CHECK_LT(packed.body.size(), plain.body.size());
        CHECK(packed.has("Content-Length: " + std::to_string(packed.body.size()) + "\r\n"));
    }
    // Next to nothing is not worth it, and neither is an error.
    CHECK_FALSE(get(serving, "/healthz", kGzip).has("Content-Encoding"));
    CHECK_FALSE(get(serving, "/nowhere", kGzip).has("Content-Encoding"));
}

TEST_CASE("packed: a status that has not changed is not sent again") {
    Serving serving;
    const Got first = get(serving, "/api/v1/status", kGzip);
    const auto at = first.head.find("ETag: ");
    REQUIRE_NE(at, std::string::npos);
    const std::string etag = first.head.substr(at + 6, first.head.find("\r\n", at) - at - 6);
    const std::string have = "If-None-Match: " + etag + "\r\n";
    const Got same = get(serving, "/api/v1/status", kGzip + have);
    CHECK(same.head.starts_with("HTTP/1.1 304 "));
    CHECK(same.body.empty());
    serving.on_loop(
        [](FakeBackend& backend, HttpServer&) { backend.set_now(backend.now() + Seconds(60)); });
    const Got next = get(serving, "/api/v1/status", have);
    CHECK(next.head.starts_with("HTTP/1.1 200 "));
    CHECK_EQ(nlohmann::json::parse(next.body)["zones"].size(), 4);
}
