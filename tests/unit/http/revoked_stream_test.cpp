// An event stream may be open for weeks: it ends when what it came in with is good no more.
#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

#include <string>

using namespace firstmow;
using namespace firstmow::http;

namespace {

std::string stream(const std::string& header = {}) {
    return "GET /api/v1/stream HTTP/1.1\r\nHost: localhost\r\n" + header + "\r\n";
}

AccessSettings closed_reads() {
    return {.key_sha256 = sha256_hex(kKey), .reads_closed = true};
}

// The Cookie header of a browser that has signed in with the first key.
std::string signed_in(Serving& serving) {
    httplib::Client client("127.0.0.1", serving.port());
    const auto reply =
        client.Post("/api/v1/session", R"({"token": "lawn-key"})", "application/json");
    REQUIRE(reply);
    const std::string cookie = reply->get_header_value("Set-Cookie");
    return "Cookie: " + cookie.substr(0, cookie.find(';')) + "\r\n";
}

void order(Serving& serving, const char* path) {
    httplib::Client client("127.0.0.1", serving.port());
    const auto reply = client.Post(path, {{"Authorization", std::string("Bearer ") + kKey}},
                                   R"({"minutes": 3})", "application/json");
    REQUIRE(reply);
    REQUIRE_EQ(reply->status, 200);
}

} // namespace

TEST_CASE("a stream hears nothing more once its key is revoked") {
    Serving serving({}, closed_reads());
    const std::string key = serving.book().add_key("tablet", WallTime{}).value();
    BareSocket page(serving.port());
    page.send(stream("Authorization: Bearer " + key + "\r\n"));
    REQUIRE(page.receive("event: status").starts_with("HTTP/1.1 200 "));
    REQUIRE(serving.book().revoke_key("tablet"));
    order(serving, "/api/v1/zones/side/water");
    CHECK_EQ(page.receive().find("\"valve\":\"open\""), std::string::npos);
    CHECK(page.closed());
}

TEST_CASE("a stream ends with the next sign of life when its browser was signed out elsewhere") {
    Serving serving(Limits{.heartbeat = Seconds(0)}, closed_reads());
    BareSocket page(serving.port());
    page.send(stream(signed_in(serving)));
    REQUIRE(page.receive("event: tick").starts_with("HTTP/1.1 200 "));
    CHECK_EQ(serving.book().end_all_sessions(), 1); // "firstmow browsers sign-out"
    CHECK(page.closed());
}

TEST_CASE("a stream ends at once when its own browser signs out, and no other does") {
    Serving serving; // reads are open
    const std::string cookie = signed_in(serving);
    BareSocket page(serving.port());
    BareSocket stranger(serving.port());
    page.send(stream(cookie));
    stranger.send(stream());
    REQUIRE(page.receive("event: status").starts_with("HTTP/1.1 200 "));
    REQUIRE(stranger.receive("event: status").starts_with("HTTP/1.1 200 "));
    httplib::Client client("127.0.0.1", serving.port());
    const auto out =
        client.Delete("/api/v1/session", {{"Cookie", cookie.substr(8, cookie.size() - 10)}});
    REQUIRE(out);
    CHECK_EQ(out->status, 200);
    CHECK(page.closed());
    order(serving, "/api/v1/zones/side/water");
    CHECK_NE(stranger.receive("\"valve\":\"open\"").find("\"valve\":\"open\""), std::string::npos);
}

TEST_CASE("a garden that closes its reads ends the streams of who is not signed in") {
    Serving serving;
    BareSocket stranger(serving.port());
    BareSocket owner(serving.port());
    stranger.send(stream());
    owner.send(stream(std::string("Authorization: Bearer ") + kKey + "\r\n"));
    stranger.receive("event: status");
    owner.receive("event: status");
    serving.on_loop([](FakeBackend&, HttpServer& server) { server.set_access({}, true); });
    CHECK(stranger.closed());
    order(serving, "/api/v1/zones/side/water");
    CHECK_NE(owner.receive("\"valve\":\"open\"").find("\"valve\":\"open\""), std::string::npos);
}
