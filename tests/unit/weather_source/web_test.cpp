#include "local_server.hpp"
#include "weather/web.hpp"

#include <csignal>

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

using trial::always;
using trial::answer;
using trial::Line;
using trial::LocalServer;

const std::atomic<bool> kGoOn{false};

Result<WebReply> get(const std::string& url, int deadline_ms = 5000, std::size_t most = 100'000,
                     const std::string& ca = "") {
    WebRequest request;
    request.url = url;
    request.deadline = Millis{deadline_ms};
    request.most_bytes = most;
    request.ca_file = ca;
    return fetch(request, kGoOn);
}

// Why it failed, or "" when it did not.
std::string why(const Result<WebReply>& reply) {
    return reply ? "" : reply.error().message;
}

bool has(const std::string& text, const char* piece) {
    const bool found = text.find(piece) != std::string::npos;
    if (!found) MESSAGE(text);
    return found;
}

} // namespace

TEST_CASE("web: an answer, its headers and what was asked") {
    const LocalServer server(always(answer(200, "application/json", "{\"a\":1}",
                                           "Last-Modified: Sun, 06 Nov 1994 08:49:37 GMT\r\n"
                                           "ETag: \"x\"\r\nDate: Sun, 06 Nov 1994 09:00:00 GMT\r\n"
                                           "Expires: Sun, 06 Nov 1994 09:30:00 GMT\r\n")));
    WebRequest request;
    request.url = server.url() + "/a?b=c";
    request.headers = {{"User-Agent", "firstmow/test (me@example.org)"}};
    const auto reply = fetch(request, kGoOn);
    REQUIRE_MESSAGE(reply.ok(), why(reply));
    CHECK(reply->status == 200);
    CHECK(reply->content_type == "application/json");
    CHECK(reply->body == "{\"a\":1}");
    CHECK(reply->last_modified == "Sun, 06 Nov 1994 08:49:37 GMT");
    CHECK(reply->etag == "\"x\"");
    CHECK(reply->fresh_for == Seconds{1800});
    const std::string head = server.heads().at(0);
    CHECK(head.starts_with("GET /a?b=c HTTP/1.1\r\n"));
    CHECK(has(head, "User-Agent: firstmow/test (me@example.org)\r\n"));
    CHECK(has(head, ("Host: 127.0.0.1:" + std::to_string(server.port())).c_str()));
}

TEST_CASE("web: chunks, 304 and Retry-After") {
    LocalServer server(always("HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n"
                              "Transfer-Encoding: chunked\r\n\r\n3\r\n{\"a\r\n5\r\n\": 1}\r\n"
                              "0\r\n\r\n"));
    auto reply = get(server.url());
    REQUIRE_MESSAGE(reply.ok(), why(reply));
    CHECK(reply->body == "{\"a\": 1}");
    server.play(always("HTTP/1.1 304 Not Modified\r\nCache-Control: public, max-age=900\r\n\r\n"));
    reply = get(server.url());
    REQUIRE_MESSAGE(reply.ok(), why(reply));
    CHECK(reply->status == 304);
    CHECK(reply->fresh_for == Seconds{900});
    server.play(always(answer(429, "text/plain", "slow down", "Retry-After: 120\r\n")));
    CHECK(get(server.url())->retry_after == Seconds{120});
    server.play(always(answer(503, "text/plain", "",
                              "Date: Sun, 06 Nov 1994 08:49:37 GMT\r\n"
                              "Retry-After: Sun, 06 Nov 1994 08:59:37 GMT\r\n")));
    CHECK(get(server.url())->retry_after == Seconds{600});
    server.play(always(answer(503, "text/plain", "", "Retry-After: 99999999999999999999\r\n")));
    CHECK(get(server.url())->retry_after == Seconds{7 * 86400});
}

TEST_CASE("web: refused, silent, dripping and cut off") {
    CHECK(has(why(get("http://127.0.0.1:" + std::to_string(trial::free_port()))),
              "refuses the connection"));
    LocalServer server([](Line& line, const std::string&) { line.pause(60'000); });
    CHECK(has(why(get(server.url(), 300)), "too slow"));
    server.play([](Line& line, const std::string&) {
        line.send("HTTP/1.1 200 OK\r\nContent-Length: 1000\r\n\r\n");
        while (line.send("x") && line.pause(50)) {
        }
    });
    CHECK(has(why(get(server.url(), 400)), "too slow"));
    server.play(always("HTTP/1.1 200 OK\r\nContent-Length: 1000\r\n\r\n{\"half\":"));
    CHECK(has(why(get(server.url())), "cut off"));
    server.play(always("HTTP/1.1 200 OK\r\nConte"));
    CHECK(has(why(get(server.url())), "cut off"));
    server.play(always("garbage\r\n\r\n"));
    CHECK_FALSE(get(server.url()).ok());
}

TEST_CASE("web: bodies and heads without end are not taken in") {
    LocalServer server([](Line& line, const std::string&) {
        line.send("HTTP/1.1 200 OK\r\nContent-Length: 104857600\r\n\r\nand more");
        const std::string chunk(64 * 1024, 'x');
        for (int i = 0; i < 1600 && line.send(chunk); ++i) {
        }
    });
    CHECK(has(why(get(server.url())), "too long"));
    server.play([](Line& line, const std::string&) { // the length is not told
        line.send("HTTP/1.1 200 OK\r\n\r\n");
        const std::string chunk(64 * 1024, 'x');
        for (int i = 0; i < 1600 && line.send(chunk); ++i) {
        }
    });
    CHECK(has(why(get(server.url())), "too long"));
    server.play([](Line& line, const std::string&) {
        line.send("HTTP/1.1 200 OK\r\n");
        for (int i = 0; i < 5000 && line.send("X-A: " + std::string(1000, 'y') + "\r\n"); ++i) {
        }
    });
    CHECK(has(why(get(server.url())), "too long"));
}

TEST_CASE("web: redirects are followed within the same server, never elsewhere") {
    LocalServer server([](Line& line, const std::string& head) {
        if (head.starts_with("GET /old"))
            line.send(answer(301, "", "", "Location: /new\r\n"));
        else if (head.starts_with("GET /circle"))
            line.send(answer(302, "", "", "Location: /circle\r\n"));
        else if (head.starts_with("GET /away"))
            line.send(answer(302, "", "", "Location: https://elsewhere.example.org/new\r\n"));
        else if (head.starts_with("GET /tricky"))
            line.send(answer(302, "", "", "Location: //elsewhere.example.org/new\r\n"));
        else
            line.send(answer(200, "application/json", "{}"));
    });
    CHECK(get(server.url() + "/old")->body == "{}");
    CHECK(has(why(get(server.url() + "/circle")), "in circles"));
    CHECK(has(why(get(server.url() + "/away")), "elsewhere"));
    CHECK(has(why(get(server.url() + "/tricky")), "elsewhere"));
}

TEST_CASE("web: with TLS only whom the certificate names, and whom we trust") {
    const LocalServer good(always(answer(200, "application/json", "{}")), "localhost");
    auto reply = get(good.url(), 5000, 100'000, good.certificate_file());
    REQUIRE_MESSAGE(reply.ok(), why(reply));
    CHECK(reply->body == "{}");
    CHECK(has(why(get(good.url())), "certificate"));
    const LocalServer other(always(answer(200, "application/json", "{}")), "weather.example.org");
    CHECK(has(why(get(other.url(), 5000, 100'000, other.certificate_file())), "certificate"));
    CHECK(other.heads().empty()); // nothing was asked of it
    // Plain HTTP where TLS is due.
    const LocalServer plain(always(answer(200, "application/json", "{}")));
    CHECK_FALSE(get("https://localhost:" + std::to_string(plain.port())).ok());
    CHECK(has(why(get(good.url(), 5000, 100'000, "/nonexistent.pem")), "cannot be read"));
}

TEST_CASE("web: stopping ends a question at once") {
    LocalServer server([](Line& line, const std::string&) { line.pause(60'000); });
    std::atomic<bool> stop{false};
    WebRequest request;
    request.url = server.url();
    std::thread stopper([&] {
        while (server.heads().empty())
            std::this_thread::sleep_for(Millis{5});
        stop = true;
    });
    CHECK(has(why(fetch(request, stop)), "stopped"));
    stopper.join();
}

TEST_CASE("web: addresses and dates, right and wrong") {
    const auto url = parse_url("https://example.org:8443/a/b?c#d");
    REQUIRE(url.ok());
    CHECK(url->host == "example.org");
    CHECK(url->port == "8443");
    CHECK(url->path == "/a/b?c");
    CHECK(url->authority() == "example.org:8443");
    CHECK(parse_url("http://[::1]:80?x")->authority() == "[::1]");
    CHECK(parse_url("https://example.org")->path == "/");
    for (const char* bad : {"example.org", "ftp://example.org", "https://", "https://:443/",
                            "https://a b/", "https://a:0/", "https://a:99999/", "https://a:b/",
                            "https://user@a/", "https://[::1", "https://a/\r\nX: y"})
        CHECK_FALSE(parse_url(bad).ok());
    CHECK(parse_http_date("Sun, 06 Nov 1994 08:49:37 GMT") ==
          parse_iso8601("1994-11-06T08:49:37Z").value());
    for (const char* bad : {"", "Sun, 06 Nov 1994 08:49:37 CET", "Sun, 31 Feb 1994 08:49:37 GMT",
                            "Sun, 06 nov 1994 08:49:37 GMT", "Sun, 06 Nov 1994 25:49:37 GMT"})
        CHECK_FALSE(parse_http_date(bad).has_value());
}

} // namespace firstmow::weather_source
