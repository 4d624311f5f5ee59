// What the daemon refuses to start on: one line, exit code 2, nothing lost.
#include "../running.hpp"

#include <doctest/doctest.h>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sqlite3.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

namespace firstmow::process {

namespace {

GardenSpec quiet() {
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    return spec;
}

// A listening socket on a port of its own.
class Taken {
public:
    Taken() : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        socklen_t size = sizeof address;
        REQUIRE(::bind(socket_, reinterpret_cast<sockaddr*>(&address), size) == 0);
        REQUIRE(::listen(socket_, 1) == 0);
        REQUIRE(::getsockname(socket_, reinterpret_cast<sockaddr*>(&address), &size) == 0);
        port_ = ntohs(address.sin_port);
    }
    ~Taken() { ::close(socket_); }
    Taken(const Taken&) = delete;
    Taken& operator=(const Taken&) = delete;
    std::string listen() const { return "127.0.0.1:" + std::to_string(port_); }

private:
    int socket_;
    int port_ = 0;
};

void refuses(const Ended& ended, const std::string& word) {
    CHECK_MESSAGE(ended.code == 2, ended.code, " ", ended.err);
    CHECK_MESSAGE(lines(ended.err).size() == 1, ended.err);
    CHECK_MESSAGE(has(ended.err, word), ended.err);
    CHECK_MESSAGE(ended.err.starts_with("firstmowd: "), ended.err);
    CHECK(ended.out.empty());
}

void change(const std::string& database, const std::string& sql) {
    sqlite3* db = nullptr;
    REQUIRE(sqlite3_open(database.c_str(), &db) == SQLITE_OK);
    REQUIRE(sqlite3_exec(db, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    REQUIRE(sqlite3_close(db) == SQLITE_OK);
}

} // namespace

TEST_CASE("--check looks at the garden and touches nothing") {
    const House house(quiet());
    const std::string before = all_below(house.place.path());
    auto command = house.command();
    command.push_back("--check");
    Ended ended = run(command);
    CHECK(ended.code == 0);
    CHECK(ended.err.empty());
    CHECK((all_below(house.place.path()) == before));

    write(house.garden(), "[site\n");
    const std::string broken = all_below(house.place.path());
    ended = run(command);
    CHECK(ended.code == 2);
    CHECK(has(ended.err, house.garden() + ":1:"));
    CHECK((all_below(house.place.path()) == broken));
}

TEST_CASE("an address that is none is refused") {
    const House house(quiet());
    const std::string before = all_below(house.place.path());
    for (const char* wrong : {"8080", "127.0.0.1", "127.0.0.1:", ":8080", "127.0.0.1:80a",
                              "127.0.0.1:70000", "127.0.0.1:-1", "[]:80"}) {
        CAPTURE(wrong);
        refuses(run(house.command(wrong)), "ADDR:PORT");
        CHECK((all_below(house.place.path()) == before));
    }
}

TEST_CASE("an address that is not this machine's is refused") {
    const House house(quiet());
    refuses(run(house.command("192.0.2.1:0")), "192.0.2.1"); // TEST-NET-1, RFC 5737
    refuses(run(house.command("garden:0")), "garden");
}

TEST_CASE("a port that is taken is refused, also when the season has begun") {
    House house(quiet());
    const Taken taken;
    refuses(run(house.command(taken.listen())), taken.listen().substr(10));
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(house.post("/api/v1/zones/bed/water", "{\"minutes\": 5}").status == 200);
    REQUIRE(eventually([&] { return has(house.valves(), "2 open"); }));
    CHECK(house.get("/api/v1/cycles").status == 200); // answered when all before is on the disk
    house.crash();
    refuses(run(house.command(taken.listen())), taken.listen().substr(10));
    // Closed all the same, and what was running is still known at the next start.
    CHECK(lines(house.valves()).back().find("closed") != std::string::npos);
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(eventually(
        [&] { return has(house.get("/api/v1/cycles", "text/csv").body, ",person,interrupted"); }));
    CHECK(house.end() == 0);
}

TEST_CASE("a state folder that cannot be made is refused") {
    const House house(quiet());
    auto command = house.command();
    command[4] = house.place.file("none/state");
    refuses(run(command), "none/state: No such file");
    command[4] = house.garden();
    refuses(run(command), "garden.toml: File exists");
    CHECK(names_in(house.place.path()) == std::vector<std::string>{"garden.toml"});
}

TEST_CASE("a key file that cannot be used is refused") {
    const House house(quiet());
    ::mkdir(house.state().c_str(), 0755);
    write(house.state() + "/token", "short\n");
    refuses(run(house.command()), "token");
    CHECK(content_of(house.state() + "/token") == "short\n");
}

TEST_CASE("a journal of a newer version, or of another program, is left as it is") {
    House house(quiet());
    REQUIRE(house.start());
    REQUIRE(house.end() == 0);
    change(house.database(), "PRAGMA user_version = 99");
    std::string before = content_of(house.database());
    refuses(run(house.command()), "newer firstmow");
    CHECK(content_of(house.database()) == before);

    for (const char* part : {"", "-wal", "-shm"})
        ::unlink((house.database() + part).c_str());
    change(house.database(), "CREATE TABLE birds(name TEXT)");
    before = content_of(house.database());
    refuses(run(house.command()), "another program");
    CHECK(content_of(house.database()) == before);
    CHECK(names_in(house.state()) ==
          std::vector<std::string>{"access", "firstmow.sqlite", "token", "told-of"});
}

TEST_CASE("a journal that another daemon holds is refused") {
    House house(quiet());
    REQUIRE(house.start());
    const std::string valves = house.valves();
    refuses(run(house.command()), "firstmow.sqlite");
    CHECK(house.valves() == valves); // its valves were not touched
    CHECK(house.get("/healthz").status == 200);
    CHECK(house.end() == 0);
}

TEST_CASE("a damaged journal is moved aside and the season begins anew") {
    House house(quiet());
    REQUIRE(house.start());
    REQUIRE(house.end() == 0);
    const std::string noise(8192, 'x');
    write(house.database(), noise);
    REQUIRE_MESSAGE(house.start(), house.log());
    CHECK(has(house.get("/api/v1/status").body, "\"front\""));
    CHECK(house.end() == 0);
    CHECK(has(house.log(), "was damaged")); // told with the first step, which start() need not see
    bool kept = false;
    for (const std::string& name : names_in(house.state()))
        if (name.starts_with("firstmow.sqlite.damaged-"))
            kept = kept || content_of(house.state() + "/" + name) == noise;
    CHECK(kept);
    CHECK(run({kCompanion, "replay", "--db", house.database(), "--verify"}).code == 0);
}

TEST_CASE("a folder that may not be written is refused") {
    if (!is_root()) {
        MESSAGE("only root can become another user; not tried");
        return;
    }
    House house(quiet());
    REQUIRE(house.start());
    REQUIRE(house.end() == 0);
    // The other user may read everything and write nothing.
    for (const char* name : {"/token", "/firstmow.sqlite"})
        ::chmod((house.state() + name).c_str(), 0644);
    ::chmod(house.state().c_str(), 0755);
    const std::string before = all_below(house.state());
    refuses(run(house.command(), "", true), "may not be written");
    CHECK((all_below(house.state()) == before));
    // Nor without a journal there.
    ::unlink((house.state() + "/firstmow.sqlite").c_str());
    refuses(run(house.command(), "", true), "may not be written");
    ::unlink((house.state() + "/token").c_str());
    refuses(run(house.command(), "", true), "token");
}

TEST_CASE("a valve that cannot be closed at the start is refused") {
    GardenSpec spec = quiet();
    spec.valve_file = "none/valves.log";
    const House house(spec);
    refuses(run(house.command()), "zone ");
}

} // namespace firstmow::process
