// The line driver against a played kernel.
#include "fakes.hpp"

#include "keeper/bank.hpp"

#include <cerrno>
#include <cstdio>
#include <doctest/doctest.h>
#include <linux/gpio.h>
#include <memory>

namespace firstmow::keeper {

namespace {

Setup gpio(const char* place, unsigned line, bool active_low = false, Bias bias = Bias::as_is) {
    Setup setup;
    setup.order.ask = Ask::channel;
    setup.driver = Driver::gpio;
    setup.line = static_cast<std::uint16_t>(line);
    setup.active_low = active_low ? 1 : 0;
    setup.bias = bias;
    std::snprintf(setup.place, sizeof setup.place, "%s", place);
    return setup;
}

struct Board {
    explicit Board(const std::vector<Setup>& setups) : bank(std::make_unique<Bank>(kernel)) {
        kernel.chips = {{"gpiochip0", "other", 4, 0}, {"gpiochip1", "relays", 8, 0}};
        for (const Setup& setup : setups)
            REQUIRE(bank->add(setup));
    }
    FakeKernel kernel;
    std::unique_ptr<Bank> bank;
};

} // namespace

TEST_CASE("SAFE-18: all lines of a chip are outputs and closed in one request") {
    Board board({gpio("relays", 3), gpio("relays", 5, true), gpio("other", 1),
                 gpio("relays", 0, false, Bias::pull_down)});
    board.kernel.high[1][3] = true; // as a dead predecessor left it
    board.bank->take();
    REQUIRE(board.kernel.requests.size() == 2);
    const FakeKernel::Request& relays = board.kernel.requests[0];
    CHECK(relays.consumer == "firstmow");
    CHECK(relays.offsets == std::vector<unsigned>{3, 5, 0});
    CHECK(relays.active == std::vector<bool>{false, false, false});
    CHECK(relays.flags[0] == GPIO_V2_LINE_FLAG_OUTPUT);
    CHECK(relays.flags[1] == (GPIO_V2_LINE_FLAG_OUTPUT | GPIO_V2_LINE_FLAG_ACTIVE_LOW));
    CHECK(relays.flags[2] == (GPIO_V2_LINE_FLAG_OUTPUT | GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN));
    CHECK_FALSE(board.kernel.high[1][3]);
    CHECK(board.kernel.high[1][5]);           // closed is high where active is low
    CHECK(board.kernel.open_fds.size() == 2); // the chips themselves are let go
    board.bank->release();
    CHECK(board.kernel.open_fds.empty());
}

TEST_CASE("lines are set one by one, and read back") {
    Board board({gpio("relays", 3), gpio("relays", 5, true)});
    board.bank->take();
    CHECK(board.bank->set(1, true) == 0);
    CHECK_FALSE(board.kernel.high[1][5]);
    CHECK_FALSE(board.kernel.high[1][3]);
    bool open = false;
    CHECK(board.bank->read(1, open) == 0);
    CHECK(open);
    CHECK(board.bank->set(1, false) == 0);
    CHECK(board.kernel.high[1][5]);
    // Somebody else's hand, or a short circuit.
    board.kernel.stuck_line = 3;
    CHECK(board.bank->set(0, true) == EREMOTEIO);
    CHECK(board.bank->set(0, false) == 0);
}

TEST_CASE("every mixture of levels and biases fits into one request") {
    std::vector<Setup> setups;
    for (unsigned line = 0; line < 8; ++line)
        setups.push_back(gpio("relays", line, line >= 4, static_cast<Bias>(line % 4)));
    Board board(setups);
    board.bank->take();
    REQUIRE(board.kernel.requests.size() == 1);
    const auto& flags = board.kernel.requests[0].flags;
    for (std::size_t a = 0; a < 8; ++a)
        for (std::size_t b = a + 1; b < 8; ++b)
            CHECK(flags[a] != flags[b]);
    for (std::size_t channel = 0; channel < 8; ++channel)
        CHECK(board.kernel.high[1][channel] == (channel >= 4));
}

TEST_CASE("a chip is found by label, by name and by path") {
    for (const char* place : {"relays", "gpiochip1", "/dev/gpiochip1"}) {
        CAPTURE(place);
        Board board({gpio(place, 7)});
        board.bank->take();
        CHECK(board.bank->set(0, true) == 0);
        CHECK(board.kernel.high[1][7]);
    }
}

TEST_CASE("what is wrong with a chip or a line is told apart") {
    const auto error_of = [](Board& board) {
        board.bank->take();
        return board.bank->set(0, false);
    };
    Board absent({gpio("valves", 0)});
    CHECK(error_of(absent) == ENXIO);
    Board no_path({gpio("/dev/gpiochip9", 0)});
    CHECK(error_of(no_path) == ENXIO);
    Board beyond({gpio("relays", 8)});
    CHECK(error_of(beyond) == ERANGE);
    Board twice({gpio("relays", 0)});
    twice.kernel.chips[0].label = "relays";
    CHECK(error_of(twice) == ENOTUNIQ);
    Board forbidden({gpio("relays", 0)});
    forbidden.kernel.chips[1].open_error = EACCES;
    CHECK(error_of(forbidden) == EACCES);
    for (Board* board : {&absent, &no_path, &beyond, &twice, &forbidden})
        CHECK(board->kernel.open_fds.empty());
}

TEST_CASE("lines that a predecessor still holds are waited for, but not for ever") {
    Board board({gpio("relays", 0)});
    board.kernel.busy_until_ms = 300;
    board.bank->take();
    CHECK(board.bank->set(0, false) == 0);
    CHECK(board.kernel.waited_ms >= 300);
    Board held({gpio("relays", 0)});
    held.kernel.busy_until_ms = 1'000'000;
    held.bank->take();
    CHECK(held.bank->set(0, false) == EBUSY);
    CHECK(held.kernel.waited_ms == Bank::kPatience_ms);
}

TEST_CASE("a chip that is pulled out ends the keeper, which a new one can make good") {
    Board board({gpio("relays", 0)});
    Told told;
    Keeper keeper(*board.bank, told);
    Order order;
    order.ask = Ask::begin;
    order.most_open = 1;
    REQUIRE(keeper.handle(order, 0).answer == Answer::done);
    order.ask = Ask::open;
    order.lease_ms = 1000;
    REQUIRE(keeper.handle(order, 0).answer == Answer::done);
    board.kernel.gone = true;
    order.ask = Ask::close;
    const Reply reply = keeper.handle(order, 10);
    CHECK(reply.answer == Answer::failed);
    CHECK(reply.error == ENODEV);
    CHECK(keeper.broken());
}

TEST_CASE("nothing is moved before it was taken; setups that make no sense are refused") {
    Board board({gpio("relays", 0)});
    CHECK(board.bank->set(0, true) == EBADF);
    CHECK(board.bank->set(1, true) == EINVAL);
    Setup endless = gpio("relays", 1);
    for (char& c : endless.place)
        c = 'x';
    CHECK_FALSE(board.bank->add(endless));
    Setup unknown = gpio("relays", 1);
    unknown.driver = static_cast<Driver>(9);
    CHECK_FALSE(board.bank->add(unknown));
    Setup tilted = gpio("relays", 1, false, static_cast<Bias>(4));
    CHECK_FALSE(board.bank->add(tilted));
    for (unsigned i = 1; i < kMostChannels; ++i)
        CHECK(board.bank->add(Setup{}));
    CHECK_FALSE(board.bank->add(Setup{}));
}

} // namespace firstmow::keeper
