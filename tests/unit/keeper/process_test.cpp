// The keeper's program itself, spoken to by hand: what a daemon that has gone mad could send.
#include "keeper/protocol.hpp"

#include <doctest/doctest.h>

#include <array>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <poll.h>
#include <spawn.h>
#include <string>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>
#include <vector>

namespace firstmow::keeper {

namespace {

class Spoken {
public:
    explicit Spoken(int parent = ::getpid()) {
        char path[] = "/tmp/firstmow-keeper-XXXXXX";
        const int file = ::mkstemp(path);
        REQUIRE(file >= 0);
        ::close(file);
        record = path;
        int ends[2] = {-1, -1};
        REQUIRE(::socketpair(AF_UNIX, SOCK_SEQPACKET, 0, ends) == 0);
        REQUIRE(::fcntl(ends[0], F_SETFD, FD_CLOEXEC) == 0);
        std::string program = std::string(FIRSTMOW_BUILD_DIR) + "/firstmow-keeper";
        std::string of = std::to_string(parent);
        std::string end = std::to_string(ends[1]);
        char* const arguments[] = {program.data(), of.data(), end.data(), nullptr};
        REQUIRE(::posix_spawn(&pid_, program.c_str(), nullptr, nullptr, arguments, nullptr) == 0);
        ::close(ends[1]);
        socket_ = ends[0];
    }
    ~Spoken() {
        hang_up();
        if (!ended_) {
            ::kill(pid_, SIGKILL);
            ::waitpid(pid_, nullptr, 0);
        }
        ::unlink(record.c_str());
    }
    Spoken(const Spoken&) = delete;
    Spoken& operator=(const Spoken&) = delete;

    void send(const void* bytes, std::size_t size) const {
        REQUIRE(::send(socket_, bytes, size, MSG_NOSIGNAL) == static_cast<ssize_t>(size));
    }
    Reply reply() const {
        Reply got;
        pollfd ready{socket_, POLLIN, 0};
        REQUIRE(::poll(&ready, 1, 10'000) == 1);
        REQUIRE(::recv(socket_, &got, sizeof got, 0) == static_cast<ssize_t>(sizeof got));
        return got;
    }
    Reply ask(Ask what, std::uint8_t channel = 0, std::uint32_t lease_ms = 60'000) const {
        Order order;
        order.ask = what;
        order.sequence = 7;
        order.channel = channel;
        order.most_open = 2;
        order.lease_ms = lease_ms;
        send(&order, sizeof order);
        return reply();
    }
    Reply add(int number) const {
        Setup setup;
        setup.order.ask = Ask::channel;
        setup.number = number;
        std::strncpy(setup.place, record.c_str(), sizeof setup.place - 1);
        send(&setup, sizeof setup);
        return reply();
    }
    void begin() const {
        REQUIRE(add(1).answer == Answer::done);
        REQUIRE(add(2).answer == Answer::done);
        REQUIRE(ask(Ask::begin).answer == Answer::done);
    }
    void hang_up() {
        if (socket_ >= 0) ::close(socket_);
        socket_ = -1;
    }
    // Its exit code; -1 when a signal ended it.
    int wait() {
        int status = 0;
        REQUIRE(::waitpid(pid_, &status, 0) == pid_);
        ended_ = true;
        return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    }
    void signal(int number) const { ::kill(pid_, number); }
    std::vector<std::string> changes() const {
        std::ifstream in(record);
        std::vector<std::string> found;
        for (std::string line; std::getline(in, line);)
            found.push_back(line.substr(line.find(' ') + 1));
        return found;
    }

    std::string record;

private:
    pid_t pid_ = -1;
    int socket_ = -1;
    bool ended_ = false;
};

} // namespace

TEST_CASE("SAFE-13: the peer hangs up: every valve is closed, and the keeper ends") {
    Spoken keeper;
    keeper.begin();
    CHECK(keeper.ask(Ask::open, 1).open == 2);
    keeper.hang_up();
    CHECK(keeper.wait() == 0);
    CHECK(keeper.changes() ==
          std::vector<std::string>{"1 closed", "2 closed", "2 open", "1 closed", "2 closed"});
}

TEST_CASE("SAFE-11: a lease ends without a further word, and is told") {
    Spoken keeper;
    keeper.begin();
    CHECK(keeper.ask(Ask::open, 0, 200).answer == Answer::done);
    const Reply told = keeper.reply();
    CHECK(told.sequence == 0);
    CHECK(told.why == Why::lease_ended);
    CHECK(keeper.changes().back() == "1 closed");
    // Not before its time: the record has milliseconds.
    std::ifstream in(keeper.record);
    std::vector<double> times;
    for (std::string line; std::getline(in, line);)
        times.push_back(std::atof(line.c_str()));
    REQUIRE(times.size() == 4);
    CHECK(times[3] - times[2] >= 0.198);
}

TEST_CASE("messages of any size and content are refused, and change nothing") {
    Spoken keeper;
    keeper.begin();
    REQUIRE(keeper.ask(Ask::open, 0).answer == Answer::done);
    std::array<unsigned char, 4096> noise{};
    for (std::size_t i = 0; i < noise.size(); ++i)
        noise[i] = static_cast<unsigned char>(i * 37 + 11);
    for (const std::size_t size : {1UL, 15UL, sizeof(Order), 17UL, sizeof(Setup) - 1, sizeof(Setup),
                                   sizeof(Setup) + 1, noise.size()}) {
        CAPTURE(size);
        keeper.send(noise.data(), size);
        CHECK(keeper.reply().answer == Answer::refused);
    }
    CHECK(keeper.add(3).why == Why::begun_already);
    CHECK(keeper.changes().back() == "1 open");
    CHECK(keeper.ask(Ask::beat).open == 1);
    CHECK(keeper.ask(Ask::leave).answer == Answer::done);
    CHECK(keeper.wait() == 0);
    CHECK(keeper.changes().back() == "2 closed");
}

TEST_CASE("signals: SIGTERM closes and ends, those of a terminal do nothing") {
    Spoken keeper;
    keeper.begin();
    REQUIRE(keeper.ask(Ask::open, 0).answer == Answer::done);
    for (const int number : {SIGINT, SIGHUP, SIGQUIT})
        keeper.signal(number);
    CHECK(keeper.ask(Ask::beat).open == 1);
    keeper.signal(SIGTERM);
    CHECK(keeper.wait() == 0);
    CHECK(keeper.changes().back() == "2 closed");
    CHECK(keeper.changes().at(keeper.changes().size() - 2) == "1 closed");
}

TEST_CASE("the child of another parent ends at once") {
    Spoken keeper(1);
    CHECK(keeper.wait() == 0);
    CHECK(keeper.changes().empty());
}

} // namespace firstmow::keeper
