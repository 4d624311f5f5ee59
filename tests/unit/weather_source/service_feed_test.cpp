#include "host/clocks.hpp"
#include "local_server.hpp"
#include "weather/desk_source.hpp"
#include "weather/service_feed.hpp"

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

using std::chrono::hours;
using trial::always;
using trial::answer;
using trial::Line;
using trial::LocalServer;

constexpr weather::Place kPlace{41.9, -93.6, 290};

std::string open_meteo_now(double temp_c = 20) {
    const WallTime hour = std::chrono::floor<hours>(host::wall_now());
    std::string times;
    std::string temps;
    for (int i = -24; i < 72; ++i) {
        times += (i > -24 ? "," : "") + std::to_string(to_unix(hour + hours{i}));
        temps += (i > -24 ? "," : "") + std::to_string(temp_c);
    }
    return R"({"hourly":{"time":[)" + times + R"(],"temperature_2m":[)" + temps + "]}}";
}

Pace quick() {
    Pace pace;
    pace.first_wait = Millis{1};
    pace.every = Millis{20};
    pace.first_retry = Millis{10};
    pace.longest_retry = Millis{40};
    pace.refused_retry = Millis{10};
    pace.longest_wait = Millis{50};
    pace.deadline = Millis{500};
    return pace;
}

std::unique_ptr<ServiceFeed>
feed_of(const LocalServer& server,
        garden::WeatherFeed::Kind kind = garden::WeatherFeed::Kind::open_meteo) {
    garden::WeatherFeed feed;
    feed.kind = kind;
    feed.contact = "gardener@example.org";
    return std::make_unique<ServiceFeed>(
        make_service(feed, kPlace, 1),
        ServiceFeed::Setup{server.url(), user_agent(feed), server.certificate_file(), quick()});
}

// Waits, bounded, until it is so.
template <class Test>
bool soon(Test test) {
    for (int i = 0; i < 2000; ++i) {
        if (test()) return true;
        std::this_thread::sleep_for(Millis{5});
    }
    return false;
}

bool brings(ServiceFeed& feed) {
    return soon([&] { return !feed.collect(host::wall_now()).empty(); });
}

} // namespace

TEST_CASE("service: brings parcels, asks conditionally, takes \"unchanged\" for an answer") {
    LocalServer server([](Line& line, const std::string& head) {
        if (head.find("If-Modified-Since: Sun, 06 Nov 1994 08:49:37 GMT") != std::string::npos)
            line.send("HTTP/1.1 304 Not Modified\r\n\r\n");
        else
            line.send(answer(200, "application/json; charset=utf-8", open_meteo_now(),
                             "Last-Modified: Sun, 06 Nov 1994 08:49:37 GMT\r\n"));
    });
    const auto feed = feed_of(server);
    REQUIRE(brings(*feed));
    REQUIRE(soon([&] { return server.heads().size() >= 3; }));
    CHECK(server.heads()[0].find("If-Modified-Since") == std::string::npos);
    CHECK(server.heads()[0].find("User-Agent: firstmow/") != std::string::npos);
    CHECK(server.heads()[0].find("(gardener@example.org)") != std::string::npos);
    CHECK(server.heads()[2].find("If-Modified-Since") != std::string::npos);
    // The parcel comes again, as of now: it is still so.
    REQUIRE(brings(*feed));
    CHECK(feed->status(host::wall_now()).state == FeedStatus::State::ok);
}

TEST_CASE("service: every kind of failure is told, and it recovers by itself") {
    struct Case {
        std::string what;
        trial::Play play;
        std::string told;
    };
    const std::vector<Case> cases = {
        {"forbidden", always(answer(403, "text/plain", "who are you?")), "403"},
        {"throttled", always(answer(429, "text/plain", "", "Retry-After: 0\r\n")), "429"},
        {"broken", always(answer(500, "text/html", "<h1>oops</h1>")), "500"},
        {"elsewhere", always(answer(302, "", "", "Location: https://example.org/\r\n")),
         "elsewhere"},
        {"another type", always(answer(200, "text/html", open_meteo_now())), "JSON"},
        {"no JSON", always(answer(200, "application/json", "<html>")), "JSON"},
        {"half", always(answer(200, "application/json", open_meteo_now().substr(0, 500))), "JSON"},
        {"cut off", always("HTTP/1.1 200 OK\r\nContent-Length: 999\r\n\r\n{"), "cut off"},
        {"silent", [](Line& line, const std::string&) { line.pause(3000); }, "too slow"},
        {"endless",
         [](Line& line, const std::string&) {
             line.send("HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n"
                       "Content-Length: 104857600\r\n\r\n");
             for (int i = 0; i < 1600 && line.send(std::string(65536, ' ')); ++i) {
             }
         },
         "too long"},
        {"all null",
         always(answer(200, "application/json",
                       R"({"hourly":{"time":[1787400000],"temperature_2m":[null]}})")),
         "temperatures"},
        {"unasked 304", always("HTTP/1.1 304 Not Modified\r\n\r\n"), "304"},
    };
    for (const Case& one : cases) {
        CAPTURE(one.what);
        LocalServer server(one.play);
        const auto feed = feed_of(server);
        REQUIRE(soon([&] { return feed->status(host::wall_now()).failures >= 2; }));
        const FeedStatus failing = feed->status(host::wall_now());
        CHECK(failing.state == FeedStatus::State::failing);
        CHECK_MESSAGE(failing.detail.find(one.told) != std::string::npos, failing.detail);
        CHECK(feed->collect(host::wall_now()).empty());
        server.play(always(answer(200, "application/json", open_meteo_now())));
        CHECK(brings(*feed));
        CHECK(feed->status(host::wall_now()).state == FeedStatus::State::ok);
    }
}

TEST_CASE("service: NWS asks for its gridpoint first, and again when that is gone") {
    std::atomic<bool> gone{false};
    LocalServer server([&](Line& line, const std::string& head) {
        const std::string hour =
            to_iso8601(std::chrono::floor<hours>(host::wall_now())).substr(0, 19) + "+00:00";
        if (head.starts_with("GET /points/41.9,-93.6 "))
            line.send(answer(200, "application/geo+json",
                             R"({"properties":{"forecastGridData":)"
                             R"("https://elsewhere.example.org/gridpoints/DMX/1,2"}})"));
        else if (head.starts_with("GET /gridpoints/DMX/1,2 ") && !gone)
            line.send(answer(200, "application/geo+json",
                             R"({"properties":{"temperature":{"uom":"wmoUnit:degC","values":[)"
                             R"({"validTime":")" +
                                 hour + R"(/PT6H","value":20}]}}})"));
        else
            line.send(answer(404, "application/problem+json", R"({"detail":"gone"})"));
    });
    const auto feed = feed_of(server, garden::WeatherFeed::Kind::nws);
    REQUIRE(brings(*feed));
    gone = true;
    REQUIRE(soon([&] { return feed->status(host::wall_now()).failures >= 1; }));
    gone = false;
    CHECK(brings(*feed));
    const auto heads = server.heads();
    CHECK(std::count_if(heads.begin(), heads.end(), [](const std::string& head) {
              return head.starts_with("GET /points/");
          }) >= 2);
}

TEST_CASE("service: a certificate of another name brings nothing") {
    const LocalServer server(always(answer(200, "application/json", open_meteo_now())),
                             "weather.example.org");
    const auto feed = feed_of(server);
    REQUIRE(soon([&] { return feed->status(host::wall_now()).failures >= 1; }));
    CHECK(feed->status(host::wall_now()).detail.find("certificate") != std::string::npos);
    CHECK(server.heads().empty());
}

TEST_CASE("service: waits are polite") {
    const Pace pace;
    CHECK(wait_after_answer(pace, std::nullopt) == hours{1});
    CHECK(wait_after_answer(pace, Seconds{600}) == hours{1});
    CHECK(wait_after_answer(pace, Seconds{7200}) == hours{2});
    CHECK(wait_after_answer(pace, Seconds{86400}) == hours{6});
    CHECK(wait_after_failure(pace, 1, false, std::nullopt) == Seconds{60});
    CHECK(wait_after_failure(pace, 4, false, std::nullopt) == Seconds{480});
    CHECK(wait_after_failure(pace, 1000, false, std::nullopt) == hours{1});
    CHECK(wait_after_failure(pace, 1, false, Seconds{1800}) == Seconds{1800});
    CHECK(wait_after_failure(pace, 1, true, std::nullopt) == hours{1});
}

TEST_CASE("service: ending does not wait for a slow server") {
    LocalServer server([](Line& line, const std::string&) { line.pause(60'000); });
    garden::WeatherFeed feed;
    Pace pace = quick();
    pace.deadline = Millis{60'000};
    auto slow = std::make_unique<ServiceFeed>(
        make_service(feed, kPlace, 1), ServiceFeed::Setup{server.url(), "firstmow", "", pace});
    REQUIRE(soon([&] { return !server.heads().empty(); }));
    slow.reset(); // would take a minute
    CHECK(server.heads().size() == 1);
}

TEST_CASE("desk: a service that fails for hours is told once, and that it is back once") {
    struct Played : Feed {
        FeedStatus::State state = FeedStatus::State::failing;
        std::vector<weather::Parcel> collect(WallTime) override { return {}; }
        FeedStatus status(WallTime) const override {
            FeedStatus status;
            status.state = state;
            status.detail = "it answered 500";
            return status;
        }
    };
    auto played = std::make_unique<Played>();
    Played& feed = *played;
    std::vector<std::unique_ptr<Feed>> feeds;
    feeds.push_back(std::move(played));
    const WallTime start = parse_iso8601("2026-08-22T00:00:00Z").value();
    DeskSource source(kPlace, {{"far", false}}, std::move(feeds), start);
    int said = 0;
    std::string text;
    for (int minute = 0; minute < 600; minute += 10)
        for (const engine::Remark& remark : source.look(start + Seconds{60 * minute}).remarks) {
            ++said;
            text = remark.text;
        }
    CHECK(said == 1);
    CHECK(text == "The weather source far has not worked for 3 h: it answered 500.");
    CHECK(source.report(start).find("\"state\":\"failing\"") != std::string::npos);
    feed.state = FeedStatus::State::ok;
    const News back = source.look(start + hours{11});
    REQUIRE(back.remarks.size() == 1);
    CHECK(back.remarks[0].code == "weather_source_back");
    CHECK(source.look(start + hours{12}).remarks.empty());
}

} // namespace firstmow::weather_source
