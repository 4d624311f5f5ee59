// The daemon has run out of file handles with a valve open.
#include "ward.hpp"

#include <csignal>
#include <doctest/doctest.h>
#include <sys/resource.h>

namespace firstmow::process {

namespace {

// No more handles for the daemon: the lowest free number is beyond its limit. One may become free
// meanwhile, of a conversation that ends; so until nobody who calls is answered.
void starve(const Ward& ward) {
    const int daemon = ward.daemon_pid();
    const std::string folder = "/proc/" + std::to_string(daemon) + "/fd/";
    const std::string url = "http://127.0.0.1:" + std::to_string(ward.house.port());
    CHECK(eventually([&] {
        rlim_t free = 0;
        while (exists(folder + std::to_string(free)))
            ++free;
        const rlimit limit{free, free};
        REQUIRE(::prlimit(daemon, RLIMIT_NOFILE, &limit, nullptr) == 0);
        return run({kCompanion, "status", "--url", url}, "", false, 2).code != 0;
    }));
}

} // namespace

TEST_CASE("out of handles: the daemon that is then killed leaves no valve open") {
    for (const int signal : {SIGKILL, SIGTERM}) {
        Ward ward;
        REQUIRE(ward.start());
        REQUIRE(ward.open());
        starve(ward);
        const double since_s = boot_s();
        ward.house.daemon().signal(signal);
        CHECK_MESSAGE(ward.closed_after(since_s, 10) < 2, ward.house.valves());
        (void)ward.house.daemon().wait();
    }
}

TEST_CASE("SAFE-21: out of handles: a keeper that is killed is replaced all the same") {
    Ward ward;
    REQUIRE(ward.start());
    REQUIRE(ward.open());
    starve(ward);
    const int keeper = ward.keeper_pid();
    REQUIRE(keeper > 0);
    const double since_s = boot_s();
    ::kill(keeper, SIGKILL);
    CHECK_MESSAGE(ward.closed_after(since_s, 10) < 2, ward.house.log());
    CHECK(eventually([&] { return ward.keeper_pid() > 0 && ward.keeper_pid() != keeper; }));
    ward.house.daemon().signal(SIGTERM);
    CHECK(ward.house.daemon().wait() == 0);
}

} // namespace firstmow::process
