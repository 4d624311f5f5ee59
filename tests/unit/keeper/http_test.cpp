// The driver of relays in the network, against a server that is good, slow, wrong or gone.
#include "relay_server.hpp"

#include "keeper/bank.hpp"

#include <cerrno>
#include <doctest/doctest.h>
#include <memory>

namespace firstmow::keeper {

namespace {

using Manner = RelayServer::Manner;
using Requests = std::vector<std::string>;

// The driver without its thread.
struct Relay {
    explicit Relay(const Setup& setup) : setups(std::make_unique<Setups>()) {
        (*setups)[5] = setup;
        bus->settle(real_kernel(), Share{setups.get(), std::uint64_t{1} << 5});
    }
    int set(bool open) { return bus->set(5, open); }
    using Setups = std::array<Setup, kMostChannels>;
    std::unique_ptr<Setups> setups;
    std::unique_ptr<HttpBus> bus = std::make_unique<HttpBus>();
};

} // namespace

TEST_CASE("HTTP: an order is sent, and read back") {
    RelayServer server;
    Relay relay(server.setup());
    CHECK(relay.set(true) == 0);
    CHECK(server.open);
    bool open = false;
    CHECK(relay.bus->read(5, open) == 0);
    CHECK(open);
    CHECK(relay.set(false) == 0);
    CHECK_FALSE(server.open);
    CHECK(server.requests() == Requests{"PUTopen", "GET", "GET", "PUTclosed", "GET"});
}

TEST_CASE("HTTP: without a request to read back the status must do") {
    RelayServer server;
    Relay relay(server.setup(false));
    CHECK(relay.set(true) == 0);
    bool open = false;
    CHECK(relay.bus->read(5, open) == ENOSYS);
    server.manner = Manner::refuses;
    CHECK(relay.set(false) == EPROTO);
    CHECK(server.requests() == Requests{"PUTopen", "PUTclosed"});
}

TEST_CASE("HTTP: a relay that lies is found out") {
    RelayServer server;
    Relay relay(server.setup());
    server.manner = Manner::wrong;
    CHECK(relay.set(true) == EREMOTEIO);
    CHECK(relay.set(false) == 0); // as it is closed
}

TEST_CASE("HTTP: a relay that moves a moment after it answered is looked at again") {
    RelayServer server;
    Relay relay(server.setup());
    server.manner = Manner::late;
    CHECK(relay.set(true) == 0);
    CHECK(server.open);
}

TEST_CASE("HTTP: a server that is slow, babbles, hangs up or is gone") {
    RelayServer server;
    Relay relay(server.setup());
    server.manner = Manner::slow;
    CHECK(relay.set(true) == ETIMEDOUT);
    server.manner = Manner::trickles;
    CHECK(relay.set(true) == ETIMEDOUT);
    server.manner = Manner::babbles;
    CHECK(relay.set(true) == EBADMSG);
    server.manner = Manner::hangs_up;
    CHECK(relay.set(true) == ECONNRESET);
    bool open = false;
    CHECK(relay.bus->read(5, open) == ECONNRESET);
    Setup gone;
    {
        const RelayServer shut;
        gone = shut.setup();
    }
    CHECK(Relay(gone).set(true) == ECONNREFUSED);
}

TEST_CASE("HTTP: the bank refuses a request that is too long, or signs without an end") {
    RelayServer server;
    const auto bank = std::make_unique<Bank>(real_kernel());
    Setup setup = server.setup();
    CHECK(bank->add(setup));
    setup.read.length = kLongestRequest + 1;
    CHECK_FALSE(bank->add(setup));
    setup = server.setup();
    for (char& c : setup.when_open)
        c = 'x';
    CHECK_FALSE(bank->add(setup));
}

} // namespace firstmow::keeper
