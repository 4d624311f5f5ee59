// Who comes in by which door: codes, further keys, sessions, and reads that are closed.
#include "http/app.hpp"
#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

struct Door {
    explicit Door(AccessSettings access = {.key_sha256 = sha256_hex(kKey)})
        : serving({}, std::move(access)) {}
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};

    int read(const char* path, const httplib::Headers& headers = {}) {
        const auto reply = client.Get(path, headers);
        return reply ? reply->status : 0;
    }
    int stop_all(const httplib::Headers& headers) {
        const auto reply = client.Post("/api/v1/stop", headers, "", "application/json");
        return reply ? reply->status : 0;
    }
    httplib::Result sign_in(const std::string& secret) {
        return client.Post("/api/v1/session", json{{"token", secret}}.dump(), "application/json");
    }
    // The Cookie header of a browser that signs in so; empty when it is refused.
    httplib::Headers browser(const std::string& secret) {
        const auto reply = sign_in(secret);
        if (!reply || reply->status != 200) return {};
        const std::string cookie = reply->get_header_value("Set-Cookie");
        return {{"Cookie", cookie.substr(0, cookie.find(';'))}};
    }
    std::string code() { return serving.book().make_code(serving.backend().mono()).value(); }
    void pass(std::chrono::hours time) {
        serving.on_loop(
            [&](FakeBackend& backend, HttpServer&) { backend.set_now(backend.now() + time); });
    }
};

httplib::Headers bearer(const std::string& key) {
    return {{"Authorization", "Bearer " + key}};
}

} // namespace

TEST_CASE("a browser signs in with a code, once") {
    Door door;
    std::string code = door.code();
    code.erase(code.find('-'), 1); // however it is typed
    for (char& c : code)
        c = static_cast<char>(std::tolower(c));
    const auto phone = door.browser(" " + code + " ");
    REQUIRE_FALSE(phone.empty());
    CHECK_EQ(door.stop_all(phone), 200);
    const auto again = door.sign_in(code);
    REQUIRE(again);
    CHECK_EQ(again->status, 401);
    CHECK_NE(json::parse(again->body)["detail"].get<std::string>().find("firstmow pair"),
             std::string::npos);
    CHECK_FALSE(again->has_header("Set-Cookie"));
}

TEST_CASE("a code is no key") {
    Door door;
    const std::string code = door.code();
    CHECK_EQ(door.stop_all(bearer(code)), 401);
    CHECK_FALSE(door.browser(code).empty());
}

TEST_CASE("a code lives for 15 minutes") {
    Door door;
    const std::string code = door.code();
    door.serving.backend().advance(std::chrono::minutes(15));
    CHECK(door.browser(code).empty());
}

TEST_CASE("few guesses end a code, and more of them the guesser's turn") {
    Door door;
    const std::string code = door.code();
    const std::string wrong = code == "AAAA-AAAA" ? "CCCC-CCCC" : "AAAA-AAAA";
    for (int i = 0; i < 5; ++i)
        CHECK_EQ(door.sign_in(wrong)->status, 401);
    CHECK_EQ(door.sign_in(code)->status, 401); // also when it is right now
    for (int i = 0; i < 4; ++i)
        CHECK_EQ(door.sign_in(wrong)->status, 401);
    CHECK_EQ(door.sign_in(kKey)->status, 429);
    CHECK_EQ(door.stop_all(bearer(kKey)), 429);
    door.serving.backend().advance(Seconds(61));
    CHECK_EQ(door.stop_all(bearer(kKey)), 200);
}

TEST_CASE("a further key works until it is revoked, and so does what signed in with it") {
    Door door;
    const std::string key = door.serving.book().add_key("weather-pole", WallTime{}).value();
    CHECK_EQ(door.stop_all(bearer(key)), 200);
    const auto browser = door.browser(key);
    CHECK_EQ(door.stop_all(browser), 200);
    REQUIRE(door.serving.book().revoke_key("weather-pole"));
    CHECK_EQ(door.stop_all(bearer(key)), 401);
    CHECK_EQ(door.stop_all(browser), 401);
}

TEST_CASE("a browser that comes back stays signed in, one that stays away does not") {
    Door door;
    const auto phone = door.browser(kKey);
    CHECK_FALSE(door.client.Get("/api/v1/session", phone)->has_header("Set-Cookie"));
    for (int week = 0; week < 10; ++week) {
        door.pass(std::chrono::hours(24 * 7));
        const auto seen = door.client.Get("/api/v1/session", phone);
        CHECK_EQ(seen->body, "{\"signed_in\":true}\n");
        CHECK_NE(seen->get_header_value("Set-Cookie").find("Max-Age=2592000"), std::string::npos);
    }
    CHECK_EQ(door.stop_all(phone), 200);
    door.pass(std::chrono::hours(24 * 30));
    CHECK_EQ(door.stop_all(phone), 401);
}

TEST_CASE("closed reads show nothing of the garden to who is not signed in") {
    Door door({.key_sha256 = sha256_hex(kKey), .reads_closed = true});
    for (const std::string& route : App::route_list()) {
        if (!route.starts_with("GET ")) continue;
        std::string path = route.substr(4);
        if (const auto at = path.find("{id}"); at != std::string::npos)
            path.replace(at, 4, "front");
        if (const auto at = path.find("{date}"); at != std::string::npos)
            path.replace(at, 6, "2026-08-30");
        // A station has a key of its own.
        if (path.find("station") != std::string::npos) continue;
        // A calendar's address is its key.
        if (path.starts_with("/calendar/")) continue;
        const bool open = path == "/healthz" || path == "/api/v1/session";
        CHECK_MESSAGE(door.read(path.c_str()) == (open ? 200 : 401), path);
        if (path != "/api/v1/stream") {
            const int signed_in = door.read(path.c_str(), bearer(kKey));
            CHECK_MESSAGE(signed_in != 401, path);
        }
    }
    // The page itself tells nothing yet, and is where to sign in.
    for (const char* path : {"/", "/app.js", "/app.css", "/api/v1/openapi.json"})
        CHECK_EQ(door.read(path), 200);
    const auto phone = door.browser(kKey);
    CHECK_EQ(door.read("/api/v1/status", phone), 200);
    BareSocket stream(door.serving.port());
    stream.send("GET /api/v1/stream HTTP/1.1\r\nHost: localhost\r\nCookie: " +
                phone.begin()->second + "\r\n\r\n");
    CHECK(stream.receive("event: status").starts_with("HTTP/1.1 200 "));

    door.serving.on_loop([](FakeBackend&, HttpServer& server) { server.set_access({}, false); });
    CHECK_EQ(door.read("/api/v1/status"), 200);
    door.serving.on_loop(
        [](FakeBackend&, HttpServer& server) { server.set_access({"Lawn.example"}, true); });
    CHECK_EQ(door.read("/api/v1/status"), 401);
    CHECK_EQ(door.read("/healthz", {{"Host", "lawn.example"}}), 200);
}

TEST_CASE("who reads a closed garden by guessing is braked too") {
    Door door({.key_sha256 = sha256_hex(kKey), .reads_closed = true});
    for (int i = 0; i < 10; ++i)
        CHECK_EQ(door.read("/api/v1/status", bearer("guess")), 401);
    CHECK_EQ(door.read("/api/v1/status", bearer(kKey)), 429);
}

TEST_CASE("sign-ins and guessing are told") {
    std::vector<std::string> told;
    Door door({.key_sha256 = sha256_hex(kKey),
               .told = [&](const std::string& sentence) { told.push_back(sentence); }});
    (void)door.browser(door.code());
    for (int i = 0; i < 12; ++i)
        (void)door.sign_in("not the key at all");
    door.serving.on_loop([&](FakeBackend&, HttpServer&) {
        REQUIRE_EQ(told.size(), 2);
        CHECK_NE(told[0].find("127.0.0.1 signed in with the pairing code"), std::string::npos);
        CHECK_NE(told[1].find("10 wrong keys or codes came from 127.0.0.1"), std::string::npos);
    });
}
