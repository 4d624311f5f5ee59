// What each door refuses, and that nothing is done then.
#include "serving.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using namespace firstmow::http;
using nlohmann::json;

namespace {

const std::string kBearer = std::string("Bearer ") + kKey;

struct Refused {
    Serving serving;
    httplib::Client client{"127.0.0.1", serving.port()};

    httplib::Result water(httplib::Headers headers, const std::string& body = R"({"minutes":8})",
                          const char* type = "application/json",
                          const std::string& path = "/api/v1/zones/front/water") {
        auto reply = client.Post(path, headers, body, type);
        REQUIRE(reply);
        return reply;
    }
    bool untouched() { return serving.backend().orders().empty(); }
};

void check_problem(const httplib::Result& reply, int status) {
    REQUIRE_MESSAGE(reply->status == status, reply->body);
    CHECK_EQ(reply->get_header_value("Content-Type"), "application/problem+json");
    const json body = json::parse(reply->body);
    CHECK_EQ(body["status"], status);
    for (const char* name : {"type", "title", "detail"})
        CHECK(body[name].is_string());
    CHECK_EQ(reply->get_header_value("Cache-Control"), "no-store");
    CHECK_EQ(reply->get_header_value("X-Content-Type-Options"), "nosniff");
    CHECK_FALSE(reply->has_header("Access-Control-Allow-Origin"));
}

} // namespace

TEST_CASE("every write needs the key") {
    Refused refused;
    for (const char* path :
         {"/api/v1/zones/front/water", "/api/v1/zones/front/stop", "/api/v1/zones/front/hold",
          "/api/v1/zones/front/observations", "/api/v1/stop"}) {
        const auto reply = refused.water({}, "{}", "application/json", path);
        check_problem(reply, 401);
        CHECK(reply->get_header_value("WWW-Authenticate").starts_with("Bearer"));
    }
    const auto hold = refused.client.Delete("/api/v1/zones/front/hold");
    REQUIRE(hold);
    check_problem(hold, 401);
    check_problem(refused.water({{"Authorization", "Bearer wrong"}}), 401);
    check_problem(refused.water({{"Authorization", "Basic abc"}}), 401);
    check_problem(refused.water({{"Cookie", "firstmow_session=0000"}}), 401);
    CHECK(refused.untouched());
    CHECK_EQ(refused.water({{"Authorization", kBearer}})->status, 200);
    CHECK_EQ(refused.water({{"Authorization", "bearer " + std::string(kKey)}})->status, 200);
}

TEST_CASE("without a key in the daemon nobody may write") {
    Serving serving({}, AccessSettings{});
    httplib::Client client("127.0.0.1", serving.port());
    const auto reply =
        client.Post("/api/v1/stop", {{"Authorization", "Bearer "}}, "", "application/json");
    REQUIRE(reply);
    check_problem(reply, 403);
    const auto session = client.Post("/api/v1/session", R"({"token": ""})", "application/json");
    REQUIRE(session);
    check_problem(session, 403);
}

TEST_CASE("guessing the key is slowed down, and sessions go on meanwhile") {
    Refused refused;
    const auto session =
        refused.client.Post("/api/v1/session", R"({"token": "lawn-key"})", "application/json");
    REQUIRE(session);
    REQUIRE_EQ(session->status, 200);
    const std::string cookie = session->get_header_value("Set-Cookie");
    const std::string id = cookie.substr(0, cookie.find(';'));
    for (int i = 0; i < 10; ++i)
        check_problem(refused.water({{"Authorization", "Bearer guess"}}), 401);
    const auto braked = refused.water({{"Authorization", kBearer}});
    check_problem(braked, 429);
    CHECK_EQ(braked->get_header_value("Retry-After"), "60");
    check_problem(
        refused.client.Post("/api/v1/session", R"({"token": "lawn-key"})", "application/json"),
        429);
    CHECK_EQ(refused.water({{"Cookie", id}})->status, 200);
    refused.serving.backend().advance(Seconds(61));
    CHECK_EQ(refused.water({{"Authorization", kBearer}})->status, 200);
}

TEST_CASE("a browser signs in with the key, and out again") {
    Refused refused;
    check_problem(refused.client.Post("/api/v1/session", R"({"token": "no"})", "application/json"),
                  401);
    const auto in =
        refused.client.Post("/api/v1/session", R"({"token": "lawn-key"})", "application/json");
    REQUIRE(in);
    REQUIRE_EQ(in->status, 200);
    const std::string cookie = in->get_header_value("Set-Cookie");
    for (const char* part : {"HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=2592000"})
        CHECK_NE(cookie.find(part), std::string::npos);
    const httplib::Headers signed_in{{"Cookie", "other=1; " + cookie.substr(0, cookie.find(';'))}};
    CHECK_EQ(refused.client.Get("/api/v1/session", signed_in)->body, "{\"signed_in\":true}\n");
    CHECK_EQ(refused.water(signed_in)->status, 200);
    const auto pass = [&](std::chrono::hours time) {
        refused.serving.on_loop(
            [&](FakeBackend& backend, HttpServer&) { backend.set_now(backend.now() + time); });
    };
    pass(std::chrono::hours(24 * 30));
    check_problem(refused.water(signed_in), 401); // it has run out
    pass(-std::chrono::hours(24 * 30));
    CHECK_EQ(refused.client.Delete("/api/v1/session", signed_in)->status, 200);
    check_problem(refused.water(signed_in), 401);
}

TEST_CASE("a page of another site may not give orders") {
    Refused refused;
    const httplib::Headers foreign{{"Authorization", kBearer}, {"Origin", "http://evil.example"}};
    check_problem(refused.water(foreign), 403);
    check_problem(refused.water({{"Authorization", kBearer}, {"Origin", "null"}}), 403);
    check_problem(refused.client.Post("/api/v1/session", {{"Origin", "http://evil.example"}},
                                      R"({"token": "lawn-key"})", "application/json"),
                  403);
    CHECK(refused.untouched());
    CHECK_EQ(
        refused.water({{"Authorization", kBearer}, {"Origin", "http://" + refused.serving.host()}})
            ->status,
        200);
}

TEST_CASE("a foreign name in Host is misdirected, reads too") {
    Serving serving({}, {.key_sha256 = sha256_hex(kKey), .host_names = {"Garden.Home.arpa"}});
    httplib::Client client("127.0.0.1", serving.port());
    for (const char* host : {"evil.example", "evil.example:80", "localhost.evil.example",
                             "127.0.0.1.evil.example", "[evil]"}) {
        const auto reply = client.Get("/api/v1/status", {{"Host", host}});
        REQUIRE(reply);
        CHECK_MESSAGE((reply->status == 421 || reply->status == 400), host);
    }
    for (const char* host : {"localhost", "LOCALHOST:8080", "127.0.0.1", "[::1]:99", "192.168.1.20",
                             "garden.home.arpa:8080"}) {
        const auto reply = client.Get("/api/v1/status", {{"Host", host}});
        REQUIRE(reply);
        CHECK_MESSAGE(reply->status == 200, host);
    }
    BareSocket bare(serving.port());
    bare.send("GET / HTTP/1.1\r\nConnection: close\r\n\r\n");
    CHECK(bare.receive().starts_with("HTTP/1.1 400 "));
    BareSocket twice(serving.port());
    twice.send("GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil\r\nConnection: close\r\n\r\n");
    CHECK(twice.receive().starts_with("HTTP/1.1 400 "));
}

TEST_CASE("a body that is not as it should be changes nothing") {
    Refused refused;
    const httplib::Headers key{{"Authorization", kBearer}};
    for (const auto& [body, status] :
         std::vector<std::pair<std::string, int>>{{"", 400},
                                                  {"{", 400},
                                                  {"{\"minutes\": 8", 400},
                                                  {std::string(16000, '['), 400},
                                                  {"[]", 422},
                                                  {"8", 422},
                                                  {"{}", 422},
                                                  {R"({"minutes": "8"})", 422},
                                                  {R"({"minutes": true})", 422},
                                                  {R"({"minutes": null})", 422},
                                                  {R"({"minutes": 0})", 422},
                                                  {R"({"minutes": 0.99})", 422},
                                                  {R"({"minutes": 240.5})", 422},
                                                  {R"({"minutes": -8})", 422},
                                                  {R"({"minutes": 1e999})", 400},
                                                  {R"({"minutes": 8, "zone": "side"})", 422}}) {
        const auto reply = refused.water(key, body);
        CHECK_MESSAGE(reply->status == status, body.substr(0, 40));
        check_problem(reply, reply->status);
    }
    check_problem(
        refused.water(key, R"({"hours": 0.4})", "application/json", "/api/v1/zones/front/hold"),
        422);
    check_problem(
        refused.water(key, R"({"hours": 337})", "application/json", "/api/v1/zones/front/hold"),
        422);
    check_problem(refused.water(key, R"({"kind": "moon"})", "application/json",
                                "/api/v1/zones/front/observations"),
                  422);
    for (const char* body :
         {R"({"kind": "catch_cans"})",
          R"({"kind": "catch_cans", "readings_mm": [1, 2]})",
          R"({"kind": "catch_cans", "readings_mm": [0, 0, 0], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": [1, -2], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": [1, "2"], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": [], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": 3, "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": [1, 2], "minutes": 0})",
          R"({"kind": "catch_cans", "readings_ml": [1, 2], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_ml": [1, 2], "opening_cm2": 0, "minutes": 10})",
          R"({"kind": "catch_cans", "readings_ml": [1], "readings_mm": [1], "minutes": 10})",
          R"({"kind": "catch_cans", "readings_mm": [1, 2], "minutes": 10, "depth_mm": 5})",
          R"({"kind": "soil_probe"})",
          R"({"kind": "soil_probe", "depth_mm": 50})",
          R"({"kind": "soil_probe", "depth_mm": -50, "kpa": -30})",
          R"({"kind": "soil_probe", "depth_mm": 50, "kpa": 30})",
          R"({"kind": "soil_probe", "depth_mm": 50, "water_fraction": 21})",
          R"({"kind": "soil_probe", "depth_mm": 50, "water_fraction": 0.2, "kpa": -30})",
          R"({"kind": "surface_dry", "depth_mm": 50})",
          R"({"kind": 7})",
          R"([])"}) {
        const auto reply =
            refused.water(key, body, "application/json", "/api/v1/zones/front/observations");
        CHECK_MESSAGE(reply->status == 422, body);
        check_problem(reply, 422);
    }
    check_problem(refused.water(key, R"({"minutes":8})", "text/plain"), 415);
    check_problem(refused.water(key, "minutes=8", "application/x-www-form-urlencoded"), 415);
    check_problem(
        refused.water(key, R"({"minutes":8})", "application/json", "/api/v1/zones/nowhere/water"),
        404);
    CHECK(refused.untouched());
}

TEST_CASE("a wrong method names the right ones") {
    Refused refused;
    const auto post = refused.client.Post("/api/v1/status", "{}", "application/json");
    REQUIRE(post);
    check_problem(post, 405);
    CHECK_EQ(post->get_header_value("Allow"), "GET, HEAD");
    const auto get = refused.client.Get("/api/v1/zones/front/hold");
    REQUIRE(get);
    check_problem(get, 405);
    CHECK_EQ(get->get_header_value("Allow"), "POST, DELETE");
    const auto put = refused.client.Put("/api/v1/stop", "{}", "application/json");
    REQUIRE(put);
    check_problem(put, 405);
    const auto page = refused.client.Post("/app.js", "{}", "application/json");
    REQUIRE(page);
    check_problem(page, 405);
}

TEST_CASE("paths lead nowhere but to what is served") {
    Refused refused;
    for (const char* path :
         {"/../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/app.js/", "/app.js%00",
          "/api/v1/../../healthz", "/api/v1/zones//water", "/api/v1/zones", "/API/V1/STATUS",
          "/api/v1/zones/front/../front/water", "/index.html\\..\\x", "http://evil.example/"}) {
        BareSocket bare(refused.serving.port());
        bare.send("GET " + std::string(path) + " HTTP/1.1\r\nHost: localhost\r\n" +
                  "Connection: close\r\n\r\n");
        const std::string reply = bare.receive();
        const bool refusal = reply.starts_with("HTTP/1.1 404 ") ||
                             reply.starts_with("HTTP/1.1 405 ") ||
                             reply.starts_with("HTTP/1.1 400 ");
        CHECK_MESSAGE(refusal, path);
    }
    const auto calendar = refused.client.Get("/calendar.ics");
    REQUIRE(calendar);
    check_problem(calendar, 404);
}

TEST_CASE("oversized heads and bodies are refused and read no further") {
    Refused refused;
    const auto port = refused.serving.port();
    BareSocket line(port);
    line.send("GET /" + std::string(10'000, 'a') + " HTTP/1.1\r\nHost: localhost\r\n\r\n");
    CHECK(line.receive().starts_with("HTTP/1.1 431 "));
    BareSocket fields(port);
    std::string many = "GET / HTTP/1.1\r\nHost: localhost\r\n";
    for (int i = 0; i < 2000; ++i)
        many += "X-" + std::to_string(i) + ": y\r\n";
    fields.send(many);
    CHECK(fields.receive().starts_with("HTTP/1.1 431 "));
    BareSocket body(port);
    body.send("POST /api/v1/stop HTTP/1.1\r\nHost: localhost\r\nAuthorization: " + kBearer +
              "\r\nContent-Type: application/json\r\nContent-Length: 20000\r\n\r\n");
    CHECK(body.receive().starts_with("HTTP/1.1 413 "));
    BareSocket chunked(port);
    chunked.send("POST /api/v1/stop HTTP/1.1\r\nHost: localhost\r\nAuthorization: " + kBearer +
                 "\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n");
    for (int i = 0; i < 5; ++i)
        chunked.send("1000\r\n" + std::string(4096, ' ') + "\r\n");
    CHECK(chunked.receive().starts_with("HTTP/1.1 413 "));
    BareSocket noise(port);
    noise.send("\x16\x03\x01\x02 what is this\r\n\r\n");
    CHECK(noise.receive().starts_with("HTTP/1.1 400 "));
    CHECK(refused.untouched());
    CHECK_EQ(refused.client.Get("/healthz")->status, 200);
}

TEST_CASE("a busy port is said in one line") {
    Serving serving;
    const auto busy = serving.listen_again(serving.port());
    REQUIRE_FALSE(busy.ok());
    CHECK_EQ(busy.error().message, "port " + std::to_string(serving.port()) +
                                       " on 127.0.0.1 is in use; choose another with --listen "
                                       "ADDR:PORT");
}
