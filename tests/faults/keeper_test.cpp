// The keeper dies or hangs with a valve open.
#include "ward.hpp"

#include <algorithm>
#include <csignal>
#include <doctest/doctest.h>
#include <filesystem>

namespace firstmow::process {

namespace {

struct Blow {
    int signal;
    double most_s;
    const char* words; // of the daemon's log
};

void strike(const Blow& blow, int times) {
    double worst_s = 0;
    for (int i = 0; i < times; ++i) {
        Ward ward;
        REQUIRE_MESSAGE(ward.start(), ward.house.log());
        REQUIRE(ward.open());
        const int keeper = ward.keeper_pid();
        REQUIRE(keeper > 0);
        wait_a_moment(1200);
        const double since_s = boot_s();
        ::kill(keeper, blow.signal);
        const double after_s = ward.closed_after(since_s, 20);
        CHECK_MESSAGE(after_s < blow.most_s, ward.house.valves());
        worst_s = std::max(worst_s, after_s);
        // Another keeper is at work, and nobody thinks that water runs.
        CHECK(eventually([&] { return ward.keeper_pid() > 0 && ward.keeper_pid() != keeper; }));
        CHECK_FALSE(lives(keeper));
        CHECK(eventually([&] { return ward.house.zone("bed", "valve") == "closed"; }));
        CHECK(has(ward.house.log(), blow.words));
        CHECK(eventually(
            [&] { return has(ward.house.get("/api/v1/cycles", "text/csv").body, ",failed"); }));
        // The other zone can be watered.
        CHECK(ward.house.post("/api/v1/zones/front/water", "{\"minutes\": 5}").status == 200);
        CHECK(eventually([&] { return ward.last("1").state == "open"; }));
        CHECK(ward.house.end() == 0);
        CHECK(ward.last("1").state == "closed");
    }
    MESSAGE("signal ", blow.signal, " to the keeper: ", times, " times, closed after ", worst_s,
            " s at most");
}

} // namespace

TEST_CASE("SAFE-21: a keeper that is killed is replaced, and the new one closes first") {
    strike({SIGKILL, 2, "The valve keeper has died"}, rounds(3));
}

TEST_CASE("SAFE-21: a keeper that hangs is replaced") {
    strike({SIGSTOP, 12, "The valve keeper does not answer"}, rounds(2));
}

TEST_CASE("SAFE-21: a keeper that aborts is replaced") {
    strike({SIGABRT, 2, "The valve keeper has died"}, rounds(1));
}

TEST_CASE("SAFE-13: a keeper that is told to end closes first") {
    strike({SIGTERM, 2, "The valve keeper has died"}, rounds(1));
}

TEST_CASE("SAFE-21: a keeper that dies with every valve closed is replaced too") {
    Ward ward;
    REQUIRE(ward.start());
    const int keeper = ward.keeper_pid();
    REQUIRE(keeper > 0);
    ::kill(keeper, SIGKILL);
    CHECK(eventually([&] { return ward.keeper_pid() > 0 && ward.keeper_pid() != keeper; }, 2));
    CHECK(ward.open());
    CHECK(ward.house.end() == 0);
}

TEST_CASE("SAFE-22: no keeper to be had: closed by the daemon's own hand, and it ends in error") {
    // A daemon and a keeper that may be taken away.
    Ward ward;
    const std::string folder = ward.house.place.file("bin");
    std::filesystem::create_directory(folder);
    const auto beside = std::filesystem::path(kDaemon).parent_path();
    for (const char* name : {"firstmowd", "firstmow-keeper"})
        std::filesystem::copy_file(beside / name, folder + "/" + name);
    std::vector<std::string> command = ward.house.command();
    command.front() = folder + "/firstmowd";
    const std::string log = ward.house.place.file("other.log");
    Child daemon({command, "", "", log, false});
    const std::string sign = "serving ";
    REQUIRE(eventually([&] { return has(content_of(log), sign); }));
    const std::string words = content_of(log);
    const auto at = words.find(sign) + sign.size();
    const std::string url = words.substr(at, words.find("/ ", at) - at);
    REQUIRE(run({kCompanion, "water", "bed", "60", "--url", url, "--key-file",
                 ward.house.state() + "/token"})
                .code == 0);
    REQUIRE(eventually([&] { return ward.last().state == "open"; }));
    const int keeper = ward.keeper_pid();
    REQUIRE(keeper > 0);
    std::filesystem::remove(folder + "/firstmow-keeper");
    const double since_s = boot_s();
    ::kill(keeper, SIGKILL);
    CHECK_MESSAGE(ward.closed_after(since_s, 10) < 2, ward.house.valves());
    CHECK(daemon.wait() == 1);
    CHECK(ward.last().state == "closed");
    CHECK(has(content_of(log), "none can be started"));
}

} // namespace firstmow::process
