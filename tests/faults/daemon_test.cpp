// The daemon dies or hangs with a valve open.
#include "ward.hpp"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <doctest/doctest.h>
#include <memory>
#include <thread>

namespace firstmow::process {

namespace {

constexpr double kAfterDeath_s = 2;
constexpr double kAfterSilence_s = 12;

// Harms one daemon again and again; it is started anew each time.
void kill_again_and_again(int signal) {
    Ward ward;
    double worst_s = 0;
    const int times = rounds(3);
    for (int i = 0; i < times; ++i) {
        REQUIRE_MESSAGE(ward.start(), ward.house.log());
        REQUIRE_MESSAGE(ward.open(), ward.house.log());
        const int keeper = ward.keeper_pid();
        REQUIRE(keeper > 0);
        wait_a_moment(300);
        const double since_s = boot_s();
        ward.house.daemon().signal(signal);
        const double after_s = ward.closed_after(since_s, 10);
        CHECK_MESSAGE(after_s < kAfterDeath_s, ward.house.valves());
        worst_s = std::max(worst_s, after_s);
        (void)ward.house.daemon().wait();
        CHECK(eventually([&] { return !lives(keeper); }, 10));
        CHECK(ward.last().state == "closed");
    }
    MESSAGE("signal ", signal, ": ", times, " times, closed after ", worst_s, " s at most");
}

} // namespace

TEST_CASE("SAFE-13: a daemon that is killed leaves no valve open") {
    kill_again_and_again(SIGKILL);
}

TEST_CASE("SAFE-13: a daemon that aborts leaves no valve open") {
    kill_again_and_again(SIGABRT);
}

TEST_CASE("SAFE-13: a daemon that crashes leaves no valve open") {
    kill_again_and_again(SIGSEGV);
}

TEST_CASE("SAFE-13: a daemon that ends leaves no valve open") {
    kill_again_and_again(SIGTERM);
}

TEST_CASE("SAFE-13: killed while it starts or opens, it leaves no valve open") {
    const int times = rounds(4);
    Ward ward;
    for (int i = 0; i < times; ++i) {
        REQUIRE_MESSAGE(ward.start(), ward.house.log());
        Child order({{kCompanion, "water", "bed", "60", "--url",
                      "http://127.0.0.1:" + std::to_string(ward.house.port()), "--key-file",
                      ward.house.state() + "/token"},
                     "",
                     ward.house.place.file("order.out"),
                     ward.house.place.file("order.err"),
                     false});
        wait_a_moment(120);
        const int keeper = ward.keeper_pid();
        const double since_s = boot_s();
        ward.house.daemon().signal(SIGKILL);
        (void)ward.house.daemon().wait();
        CHECK(eventually([&] { return !lives(keeper); }, 10));
        CHECK_MESSAGE(ward.closed_after(since_s, 10) < kAfterDeath_s, ward.house.valves());
        (void)order.wait();
    }
}

TEST_CASE("SAFE-12, SAFE-20: a daemon that hangs has its valves closed, and hears of it") {
    std::vector<std::unique_ptr<Ward>> wards;
    std::vector<double> since_s;
    const int times = rounds(3);
    for (int i = 0; i < times; ++i) {
        wards.push_back(std::make_unique<Ward>());
        REQUIRE_MESSAGE(wards.back()->start(), wards.back()->house.log());
        REQUIRE(wards.back()->open());
    }
    for (const auto& ward : wards) {
        wait_a_moment(400);
        since_s.push_back(boot_s());
        ward->house.daemon().signal(SIGSTOP);
    }
    double worst_s = 0;
    for (std::size_t i = 0; i < wards.size(); ++i) {
        const double after_s = wards[i]->closed_after(since_s[i], 20);
        CHECK_MESSAGE(after_s < kAfterSilence_s, wards[i]->house.valves());
        worst_s = std::max(worst_s, after_s);
    }
    MESSAGE("hung ", times, " times, closed after ", worst_s, " s at most");
    // Awake again, the daemon knows what was done and when, and goes on.
    Ward& first = *wards.front();
    std::this_thread::sleep_for(std::chrono::seconds(5));
    const double slept_s = boot_s() - since_s.front();
    first.house.daemon().signal(SIGCONT);
    CHECK(eventually([&] { return first.house.zone("bed", "valve") == "closed"; }));
    CHECK(eventually([&] { return has(first.house.log(), "had heard nothing of the daemon"); }));
    CHECK(eventually(
        [&] { return has(first.house.get("/api/v1/cycles", "text/csv").body, ",failed"); }));
    CHECK(first.last().state == "closed");
    // Water is counted until the keeper closed, not until the daemon woke.
    const std::string cycles = first.house.get("/api/v1/cycles?zone=bed", "text/csv").body;
    const auto row = lines(cycles).back();
    std::vector<std::string> fields;
    for (std::size_t at = 0; at != std::string::npos && at <= row.size();) {
        const auto comma = row.find(',', at);
        fields.push_back(row.substr(at, comma - at));
        at = comma == std::string::npos ? comma : comma + 1;
    }
    REQUIRE(fields.size() > 4);
    CHECK_MESSAGE(std::atof(fields[4].c_str()) < slept_s - 2, cycles); // run_s
    CHECK(first.house.end() == 0);
}

TEST_CASE("SAFE-01: daemon and keeper both killed, the next start closes first") {
    Ward ward;
    REQUIRE(ward.start());
    REQUIRE(ward.open());
    const int keeper = ward.keeper_pid();
    REQUIRE(keeper > 0);
    ::kill(keeper, SIGSTOP); // so that it cannot close any more
    ward.house.crash();
    ::kill(keeper, SIGKILL);
    CHECK(eventually([&] { return !lives(keeper); }));
    CHECK(ward.last().state == "open");
    const std::size_t before = lines(ward.house.valves()).size();
    REQUIRE(ward.start());
    const auto now = lines(ward.house.valves());
    REQUIRE(now.size() > before);
    CHECK(has(now[before], " 2 closed"));
}

} // namespace firstmow::process
