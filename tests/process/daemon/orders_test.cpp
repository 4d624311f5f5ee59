// The daemon at work: its API, its valves, how it ends and how it takes itself up again.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <arpa/inet.h>
#include <csignal>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

namespace firstmow::process {

namespace {

using Json = nlohmann::json;

// Nothing is planned for the next hours: what happens is what the test orders.
GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

// Mild weather, the tap open all day, a bed sown yesterday: there is water due at once; and the
// tap gives enough for one zone only.
GardenSpec thirsty() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.longitude_deg = noon_longitude_deg();
    spec.hours = "00:00-24:00";
    spec.flow = "19 L/min";
    spec.start = to_string(Date{std::chrono::floor<std::chrono::days>(now())});
    spec.weather = "weather.csv";
    return spec;
}

void give_weather(const House& house) {
    const WallTime hour = std::chrono::floor<std::chrono::hours>(now());
    std::string csv = kWeatherHeader;
    for (int i = -72; i < 48; ++i)
        csv += hour_line(hour + std::chrono::hours(i));
    write(house.place.file("weather.csv"), csv);
}

// What was done to the valves, in order, without the times: "1 closed", "2 open", ...
std::vector<std::string> changes(const House& house) {
    std::vector<std::string> found;
    for (const std::string& line : lines(house.valves()))
        found.push_back(line.substr(line.find(' ') + 1));
    return found;
}

bool valve_is(const House& house, const std::string& channel, const std::string& state) {
    std::string last;
    for (const std::string& change : changes(house))
        if (change.starts_with(channel + " ")) last = change.substr(channel.size() + 1);
    return last == state;
}

bool verified(const House& house) {
    const Ended replay = run({kCompanion, "replay", "--db", house.database(), "--verify"});
    if (replay.code != 0) MESSAGE(replay.out, replay.err);
    return replay.code == 0;
}

// The daemon is killed; its keeper closes both valves and ends. (What happens when the keeper is
// killed with it is seen in tests/faults.)
void crash(House& house) {
    const std::size_t before = changes(house).size();
    house.crash();
    REQUIRE(eventually([&] { return changes(house).size() == before + 2; }));
    REQUIRE(valve_is(house, "1", "closed"));
    REQUIRE(valve_is(house, "2", "closed"));
}

std::string cycles(const House& house) {
    return house.get("/api/v1/cycles", "text/csv").body;
}

} // namespace

TEST_CASE("the daemon serves what the contract names") {
    House house(quiet());
    REQUIRE_MESSAGE(house.start(), house.log());
    // Every valve is closed before anything else.
    CHECK(changes(house) == std::vector<std::string>{"2 closed", "1 closed"});
    CHECK(house.get("/healthz").status == 200);
    const Reply reply = house.get("/api/v1/status");
    REQUIRE(reply.status == 200);
    const Json status = Json::parse(reply.body);
    CHECK(parse_iso8601(status.at("time").get<std::string>()).ok());
    REQUIRE(status.at("zones").size() == 2);
    for (const Json& zone : status.at("zones")) {
        for (const char* name : {"id", "name", "phase", "valve", "seed_zone_kpa", "low_quarter_kpa",
                                 "next", "hold_until"})
            CHECK_MESSAGE(zone.contains(name), name);
        CHECK(zone.at("valve") == "closed");
        CHECK(zone.at("seed_zone_kpa").get<double>() <= 0);
        CHECK(zone.at("low_quarter_kpa").get<double>() <= zone.at("seed_zone_kpa").get<double>());
        CHECK(zone.at("hold_until").is_null());
    }
    CHECK(status.at("zones")[0].at("phase") == "pre_germination");
    CHECK(status.at("zones")[1].at("phase") == "mature");

    struct stat key {};
    REQUIRE(::stat((house.state() + "/token").c_str(), &key) == 0);
    CHECK((key.st_mode & 0777) == 0600);
    CHECK(house.end() == 0);
    CHECK(verified(house));
}

TEST_CASE("people's orders reach the valves, only with the key") {
    House house(quiet());
    REQUIRE_MESSAGE(house.start(), house.log());
    const std::string water = "/api/v1/zones/bed/water";
    CHECK(house.post_with("", water, "{\"minutes\": 5}").status == 401);
    CHECK(house.post_with("0123456789abcdef", water, "{\"minutes\": 5}").status == 401);
    CHECK(house.post_with("", "/api/v1/stop", "{}").status == 401);
    CHECK(house.post(water, "{\"minutes\": 0}").status == 422);
    CHECK(house.post("/api/v1/zones/nobody/water", "{\"minutes\": 5}").status == 404);
    CHECK(changes(house).size() == 2); // none of this moved a valve

    CHECK(house.post(water, "{\"minutes\": 5}").status == 200);
    CHECK(eventually([&] { return valve_is(house, "2", "open"); }));
    CHECK(eventually([&] { return house.zone("bed", "valve") == "open"; }));
    CHECK(house.post("/api/v1/zones/bed/stop", "{}").status == 200);
    CHECK(eventually([&] { return valve_is(house, "2", "closed"); }));
    CHECK(eventually([&] { return has(cycles(house), ",person,stopped"); }));

    // The companion says the same from a shell.
    const std::vector<std::string> to = {"--url",
                                         "http://127.0.0.1:" + std::to_string(house.port()),
                                         "--key-file", house.state() + "/token"};
    const auto shell = [&](std::vector<std::string> words) {
        words.insert(words.begin(), kCompanion);
        words.insert(words.end(), to.begin(), to.end());
        return run(words);
    };
    CHECK(shell({"water", "front", "3"}).code == 0);
    CHECK(eventually([&] { return valve_is(house, "1", "open"); }));
    const Ended status = shell({"status"});
    CHECK(status.code == 0);
    CHECK(has(status.out, "valve open"));
    CHECK(shell({"stop"}).code == 0);
    CHECK(eventually([&] { return valve_is(house, "1", "closed"); }));
    CHECK(shell({"hold", "front", "24"}).code == 0);
    CHECK(eventually([&] { return house.zone("front", "hold_until") != "null"; }));
    CHECK(shell({"hold", "front", "0"}).code == 0);
    CHECK(eventually([&] { return house.zone("front", "hold_until") == "null"; }));
    CHECK(shell({"observe", "front", "seedlings_seen"}).code == 0);
    CHECK(eventually([&] { return house.zone("front", "phase") == "emergence"; }));
    CHECK(shell({"observe", "front", "catch_cans", "--mm", "1.2,1.6,1.4,1.5", "--minutes", "10"})
              .code == 0);
    CHECK(eventually([&] { return house.zone("front", "correction") != "null"; }));
    const Ended learned = shell({"status"});
    CHECK(has(learned.out, "learned: Catch cans on"));
    const Ended probed =
        shell({"observe", "front", "soil_probe", "--depth-mm", "50", "--kpa", "-35"});
    CHECK(probed.code == 0);
    const Ended no_cans =
        shell({"observe", "front", "catch_cans", "--mm", "0,0", "--minutes", "9"});
    CHECK(no_cans.code == 1);
    CHECK(has(no_cans.err, "every can is empty"));
    CHECK(shell({"forget", "front"}).code == 0);
    CHECK(shell({"forget", "front", "--all"}).code == 0);
    CHECK(eventually([&] { return house.zone("front", "correction") == "null"; }));
    CHECK(has(house.get("/api/v1/corrections?zone=front").body, "Catch cans on"));
    const Ended unknown = shell({"water", "nobody", "3"});
    CHECK(unknown.code == 1);
    CHECK(has(unknown.err, "nobody"));
    CHECK(shell({"water", "front", "-3"}).code != 0);

    CHECK(house.post("/api/v1/zones/front/hold", "{\"hours\": 2}").status == 200);
    CHECK(eventually([&] { return house.zone("front", "hold_until") != "null"; }));
    CHECK(house.remove("/api/v1/zones/front/hold").status == 200);
    CHECK(house.post("/api/v1/zones/front/observations", "{\"kind\": \"first_mow\"}").status ==
          200);
    CHECK(eventually([&] { return house.zone("front", "phase") == "post_first_mow"; }));
    CHECK(house.end() == 0);
    CHECK(verified(house));
    // Nobody is there any more.
    CHECK(shell({"status"}).code == 1);
}

TEST_CASE("a valve that is open is closed before the daemon ends") {
    House house(quiet());
    REQUIRE(house.start());
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 60}").status == 200);
    REQUIRE(eventually([&] { return valve_is(house, "2", "open"); }));
    REQUIRE(eventually([&] { return house.zone("bed", "valve") == "open"; }));
    CHECK(house.end() == 0);
    CHECK(valve_is(house, "2", "closed"));
    CHECK(valve_is(house, "1", "closed"));
    CHECK(verified(house));

    // The order is not taken up again.
    const std::size_t before = changes(house).size();
    REQUIRE(house.start());
    CHECK(eventually([&] { return has(cycles(house), ",person,interrupted"); }));
    CHECK(changes(house).size() >= before + 2);
    for (std::size_t i = before; i < changes(house).size(); ++i)
        CHECK(has(changes(house)[i], "closed"));
    CHECK(count(cycles(house), ",person,") == 1);
    CHECK(house.end() == 0);
    CHECK(verified(house));
}

TEST_CASE("after a power cut valves are closed first and nothing runs twice") {
    House house(quiet());
    REQUIRE(house.start());
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 60}").status == 200);
    REQUIRE(eventually([&] { return house.zone("bed", "valve") == "open"; }));
    CHECK(house.get("/api/v1/cycles").status == 200); // answered when all before is on the disk
    crash(house);
    const std::size_t before = changes(house).size();

    REQUIRE_MESSAGE(house.start(), house.log());
    auto now_done = changes(house);
    REQUIRE(now_done.size() >= before + 2);
    CHECK(now_done[before] == "2 closed");
    CHECK(now_done[before + 1] == "1 closed");
    CHECK(eventually([&] { return has(cycles(house), ",person,interrupted"); }));
    CHECK(count(cycles(house), ",person,") == 1);
    CHECK(house.zone("bed", "valve") == "closed");
    CHECK(house.end() == 0);
    now_done = changes(house);
    for (std::size_t i = before; i < now_done.size(); ++i)
        CHECK(has(now_done[i], "closed"));
    CHECK(verified(house));
}

TEST_CASE("a changed garden file is taken whole or not at all") {
    GardenSpec spec = quiet();
    House house(spec);
    REQUIRE(house.start());
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 60}").status == 200);
    REQUIRE(eventually([&] { return house.zone("bed", "valve") == "open"; }));

    // Broken: the garden goes on, the water too.
    write(house.garden(), garden_text(spec) + "[[zone]]\nid = \"late\"\n");
    house.daemon().signal(SIGHUP);
    CHECK(eventually([&] { return has(house.log(), "goes on as before"); }));
    CHECK(has(house.log(), house.garden() + ":"));
    CHECK(house.zone("bed", "valve") == "open");
    CHECK(house.zone("late", "valve") == "no such member");

    // Good: water off, then the new garden; the season of the zone that stays goes on.
    CHECK(house.post("/api/v1/zones/front/observations", "{\"kind\": \"first_mow\"}").status ==
          200);
    CHECK(eventually([&] { return house.zone("front", "phase") == "post_first_mow"; }));
    spec.with_bed = false;
    spec.name = "Smaller garden";
    write(house.garden(), garden_text(spec));
    house.daemon().signal(SIGHUP);
    CHECK(eventually([&] { return has(house.log(), "was read again"); }));
    CHECK(valve_is(house, "2", "closed"));
    CHECK(eventually([&] { return house.zone("bed", "valve") == "no such member"; }));
    CHECK(house.zone("front", "phase") == "post_first_mow");
    CHECK(eventually([&] { return has(cycles(house), "bed,"); }));
    CHECK(house.post("/api/v1/zones/front/water", "{\"minutes\": 1}").status == 200);
    CHECK(eventually([&] { return valve_is(house, "1", "open"); }));
    CHECK(house.end() == 0);
    CHECK(verified(house));
}

TEST_CASE("a changed garden file while water is due does not stop the daemon") {
    const GardenSpec spec = thirsty();
    House house(spec);
    give_weather(house);
    REQUIRE_MESSAGE(house.start(), house.log());
    REQUIRE(eventually([&] { return house.zone("front", "valve") == "open"; }));
    // Waits for the tap.
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 2}").status == 200);
    const auto reload = [&] {
        const int said = count(house.log(), "was read again");
        house.daemon().signal(SIGHUP);
        CHECK(eventually([&] {
            return !house.daemon().running() || count(house.log(), "was read again") > said;
        }));
        REQUIRE_MESSAGE(house.daemon().running(), house.log());
    };
    reload();
    CHECK(valve_is(house, "1", "closed"));
    // What a person ordered is not lost by it.
    CHECK(eventually([&] { return valve_is(house, "2", "open"); }));
    reload();
    reload();
    CHECK(house.end() == 0);
    CHECK(valve_is(house, "1", "closed"));
    CHECK(valve_is(house, "2", "closed"));
    CHECK(verified(house));
}

TEST_CASE("after a power cut, a garden file that has changed meanwhile is taken") {
    GardenSpec spec = thirsty();
    House house(spec);
    give_weather(house);
    REQUIRE_MESSAGE(house.start(), house.log());
    REQUIRE(eventually([&] { return house.zone("front", "valve") == "open"; }));
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 2}").status == 200);
    CHECK(house.get("/api/v1/cycles").status == 200); // answered when all before is on the disk
    crash(house);
    spec.name = "Another name";
    write(house.garden(), garden_text(spec));
    const std::size_t before = changes(house).size();
    REQUIRE_MESSAGE(house.start(), house.log());
    REQUIRE(changes(house).size() >= before + 2);
    CHECK(changes(house)[before] == "2 closed");
    CHECK(changes(house)[before + 1] == "1 closed");
    CHECK(eventually([&] { return has(cycles(house), ",interrupted"); }));
    CHECK(house.end() == 0);
    CHECK(verified(house));
}

TEST_CASE("many slow clients do not keep a valve from being closed") {
    House house(quiet());
    REQUIRE(house.start());
    std::vector<int> slow;
    for (int i = 0; i < 50; ++i) {
        const int s = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_port = htons(static_cast<std::uint16_t>(house.port()));
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        REQUIRE(::connect(s, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0);
        // Half a request: never the end of it.
        (void)::send(s, "GET /api/v1/status HTTP/1.1\r\nHost:", 34, MSG_NOSIGNAL);
        slow.push_back(s);
    }
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 5}").status == 200);
    CHECK(eventually([&] { return valve_is(house, "2", "open"); }));
    CHECK(house.post("/api/v1/zones/bed/stop", "{}").status == 200);
    CHECK(eventually([&] { return valve_is(house, "2", "closed"); }));
    CHECK(house.end() == 0);
    for (const int s : slow)
        ::close(s);
}

} // namespace firstmow::process
