// What a stranger on the network may try while water runs: each is refused, and the valve that is
// open stays open, the one that is closed stays closed.
#include "../raw_socket.hpp"
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace firstmow::process {

namespace {

GardenSpec watered() {
    GardenSpec spec;
    spec.name = "<img src=x onerror=alert(1)>";
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

std::string get(const std::string& path, const std::string& more = {}) {
    return "GET " + path + " HTTP/1.1\r\nHost: localhost\r\n" + more + "\r\n";
}

// The daemon with one valve open for an hour.
struct Watered {
    Watered() : house(watered()) {
        REQUIRE(house.start());
        REQUIRE_EQ(house.post("/api/v1/zones/front/water", R"({"minutes": 60})").status, 200);
        REQUIRE(eventually([&] { return house.zone("front", "valve") == "open"; }));
        valves = house.valves();
        REQUIRE(has(valves, " 1 open"));
    }
    ~Watered() { CHECK_EQ(house.end(), 0); }
    Watered(const Watered&) = delete;
    Watered& operator=(const Watered&) = delete;

    // Neither did a valve move, nor is the owner kept out.
    void check_undisturbed() {
        CHECK_EQ(house.valves(), valves);
        CHECK_EQ(house.zone("front", "valve"), "open");
        CHECK_EQ(house.zone("bed", "valve"), "closed");
        CHECK_EQ(house.post("/api/v1/stop", "").status, 200);
        CHECK(eventually([&] { return house.zone("front", "valve") == "closed"; }));
    }

    House house;
    std::string valves;
};

const std::vector<std::pair<std::string, std::string>> kOrders{
    {"/api/v1/stop", ""},
    {"/api/v1/zones/front/stop", ""},
    {"/api/v1/zones/bed/water", R"({"minutes": 60})"},
    {"/api/v1/zones/front/hold", R"({"hours": 24})"},
    {"/api/v1/zones/bed/observations", R"({"kind": "surface_dry"})"}};

} // namespace

TEST_CASE("attack: orders without a key, with a wrong one, from foreign pages and names") {
    Watered watered;
    const House& house = watered.house;
    const std::string right = "Bearer " + house.key();
    for (const auto& [path, body] : kOrders) {
        CAPTURE(path);
        CHECK_EQ(house.send({}, path, body).status, 401);
        CHECK_EQ(house.send({{"Cookie", "firstmow_session=../../token"}}, path, body).status, 401);
        CHECK_EQ(
            house.send({{"Authorization", right}, {"Origin", "http://evil.example"}}, path, body)
                .status,
            403);
        CHECK_EQ(house.send({{"Authorization", right}, {"Origin", "null"}}, path, body).status,
                 403);
        CHECK_EQ(
            house.send({{"Authorization", right}, {"Host", "evil.example"}}, path, body).status,
            421);
        const int wrong = house.send({{"Authorization", "Bearer guess"}}, path, body).status;
        CHECK((wrong == 401 || wrong == 429));
    }
    CHECK_EQ(house.get_with({{"Host", "evil.example"}}, "/api/v1/status").status, 421);
    watered.check_undisturbed();
}

TEST_CASE("attack: guessing keys is braked, and stops again by itself") {
    Watered watered;
    int braked = 0;
    for (int i = 0; i < 40; ++i)
        braked +=
            watered.house.post_with("guess-" + std::to_string(i), "/api/v1/stop", "").status == 429;
    CHECK_EQ(braked, 30);
    // This address is braked, the right key too; what it has open goes on.
    CHECK_EQ(watered.house.valves(), watered.valves);
    CHECK_EQ(watered.house.zone("front", "valve"), "open");
}

TEST_CASE("attack: paths that lead elsewhere") {
    Watered watered;
    const std::string key = watered.house.key();
    for (const char* path : {"/../state/token", "/%2e%2e/%2e%2e/state/token", "//etc/passwd",
                             "/....//....//etc/passwd", "/api/v1/zones/../../../token",
                             "/api/v1/zones/front%2f..%2f..%2fstop", "/..\\token",
                             "/app.js%00.html", "/api/v1/days/../../token", "file:///etc/passwd"}) {
        RawSocket socket(watered.house.port());
        REQUIRE(socket.send(get(path, "Connection: close\r\n")));
        const std::string reply = socket.receive();
        const bool refused = reply.starts_with("HTTP/1.1 40");
        CHECK_MESSAGE(refused, path, ": ", reply.substr(0, 40));
        CHECK_EQ(reply.find(key), std::string::npos);
        CHECK_EQ(reply.find("root:"), std::string::npos);
    }
    watered.check_undisturbed();
}

TEST_CASE("attack: requests that are too large, too long, or none") {
    Watered watered;
    const int port = watered.house.port();
    const std::string post = "POST /api/v1/stop HTTP/1.1\r\nHost: localhost\r\nAuthorization: "
                             "Bearer " +
                             watered.house.key() + "\r\nContent-Type: application/json\r\n";
    const std::vector<std::pair<std::string, std::string>> tries{
        {get("/" + std::string(10'000, 'a')), "HTTP/1.1 431 "},
        {get("/", "X: " + std::string(20'000, 'x') + "\r\n"), "HTTP/1.1 431 "},
        {post + "Content-Length: 1000000000\r\n\r\n", "HTTP/1.1 413 "},
        {post + "Content-Length: -1\r\n\r\n", "HTTP/1.1 400 "},
        {post + "Transfer-Encoding: chunked\r\n\r\nFFFFFFFFFFFFFFFFF\r\n", "HTTP/1.1 400 "},
        {post + "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n{}", "HTTP/1.1 400 "},
        {std::string(3000, '\0') + "\r\n\r\n", "HTTP/1.1 400 "},
        {"\x16\x03\x01\x02\x01\x01\r\n\r\n", "HTTP/1.1 400 "}};
    for (const auto& [text, answer] : tries) {
        RawSocket socket(port);
        (void)socket.send(text);
        const std::string reply = socket.receive();
        CHECK_MESSAGE(reply.starts_with(answer), text.substr(0, 60), ": ", reply.substr(0, 40));
    }
    watered.check_undisturbed();
}

TEST_CASE("attack: a thousand streams, slow requests and deaf readers at once") {
    allow_many_sockets();
    Watered watered;
    const int port = watered.house.port();
    std::vector<std::unique_ptr<RawSocket>> crowd;
    for (int i = 0; i < 1000; ++i) {
        crowd.push_back(std::make_unique<RawSocket>(port));
        (void)crowd.back()->send(get("/api/v1/stream"));
    }
    for (int i = 0; i < 100; ++i) {
        crowd.push_back(std::make_unique<RawSocket>(port));
        (void)crowd.back()->send("POST /api/v1/stop HTTP/1.1\r\nHost: loc");
        crowd.push_back(std::make_unique<RawSocket>(port, true));
        for (int again = 0; again < 20; ++again)
            (void)crowd.back()->send(get("/app.js"));
    }
    // The owner gets through between them, and the control loop turns.
    int through = 0;
    for (int i = 0; i < 20; ++i)
        through += watered.house.get("/healthz").status == 200;
    CHECK_GE(through, 15);
    CHECK_EQ(watered.house.valves(), watered.valves);
    CHECK(eventually([&] { return watered.house.post("/api/v1/stop", "").status == 200; }));
    CHECK(eventually([&] { return has(watered.house.valves(), " 1 closed"); }));
}

TEST_CASE("attack: marks of HTML in a name are text wherever they are said") {
    Watered watered;
    const Reply status = watered.house.get("/api/v1/status");
    const auto json = nlohmann::json::parse(status.body, nullptr, false);
    REQUIRE(json.is_object());
    CHECK_EQ(json["site"], "<img src=x onerror=alert(1)>");
    // The page is the same for every garden: nothing of one is written into it.
    CHECK_FALSE(has(watered.house.get("/").body, "onerror"));
    CHECK_FALSE(has(watered.house.get("/day.html").body, "onerror"));
    watered.check_undisturbed();
}

} // namespace firstmow::process
