// The Modbus driver against libmodbus, over a wire that can be harmed.
#include "fakes.hpp"
#include "serial_wire.hpp"

#include "keeper/bank.hpp"

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <doctest/doctest.h>
#include <memory>
#include <thread>

namespace firstmow::keeper {

namespace {

using Harm = SerialWire::Harm;

Setup coil(const SerialWire& wire, std::uint8_t unit, std::uint16_t number) {
    Setup setup;
    setup.driver = Driver::modbus;
    setup.address = unit;
    setup.line = number;
    setup.baud = 9600;
    std::snprintf(setup.place, sizeof setup.place, "%s", wire.near_port().c_str());
    return setup;
}

// The driver without its thread; channel 0 is coil 3 of unit 2, channel 1 coil 9, which is not
// there, channel 2 a unit that is not there.
struct Board {
    Board() : setups(std::make_unique<Setups>()) {
        (*setups)[0] = coil(wire, 2, 3);
        (*setups)[1] = coil(wire, 2, 9);
        (*setups)[2] = coil(wire, 7, 3);
        bus.settle(real_kernel(), Share{setups.get(), 0b111});
    }
    ~Board() { bus.release(); }
    using Setups = std::array<Setup, kMostChannels>;
    SerialWire wire;
    ModbusSlave slave{wire.far_port(), 2};
    std::unique_ptr<Setups> setups;
    ModbusBus bus;
};

} // namespace

TEST_CASE("Modbus: the check of a frame") {
    // The example of the serial line guide V1.02, 6.2.2: unit 2, function 7 gives 0x1241.
    const std::uint8_t example[] = {0x02, 0x07};
    CHECK(modbus_crc(example, 2) == 0x1241);
}

TEST_CASE("Modbus: coils are written and read back") {
    Board board;
    CHECK(board.bus.set(0, true) == 0);
    CHECK(board.slave.coil(3));
    CHECK_FALSE(board.slave.coil(2));
    bool open = false;
    CHECK(board.bus.read(0, open) == 0);
    CHECK(open);
    CHECK(board.bus.set(0, false) == 0);
    CHECK_FALSE(board.slave.coil(3));
    CHECK(board.bus.read(0, open) == 0);
    CHECK_FALSE(open);
}

TEST_CASE("Modbus: an answer that is spoilt once is asked for again, one that always is fails") {
    Board board;
    board.wire.harm = Harm::spoils_once;
    CHECK(board.bus.set(0, true) == 0);
    CHECK(board.wire.harm == Harm::none);
    board.wire.harm = Harm::drips;
    CHECK(board.bus.set(0, false) == 0);
    board.wire.harm = Harm::spoils;
    CHECK(board.bus.set(0, true) == EBADMSG);
    board.wire.harm = Harm::none;
    CHECK(board.bus.set(0, false) == 0);
    CHECK_FALSE(board.slave.coil(3));
}

TEST_CASE("Modbus: no answer, a coil that is not there, a unit that is not there") {
    Board board;
    CHECK(board.bus.set(1, true) == EPROTO);
    CHECK(board.bus.set(2, true) == ETIMEDOUT);
    board.wire.harm = Harm::cut;
    CHECK(board.bus.set(0, true) == ETIMEDOUT);
    board.wire.harm = Harm::none;
    CHECK(board.bus.set(0, true) == 0);
}

TEST_CASE("Modbus: a port that another program has, or that is not there") {
    Board board;
    REQUIRE(board.bus.set(0, false) == 0);
    ModbusBus other;
    other.settle(real_kernel(), Share{board.setups.get(), 0b001});
    CHECK(other.set(0, true) == EBUSY);
    CHECK_FALSE(board.slave.coil(3));
    board.bus.release();
    CHECK(other.set(0, true) == 0);
    other.release();
    std::snprintf((*board.setups)[0].place, kLongestPlace, "/dev/no-such-port");
    ModbusBus nowhere;
    nowhere.settle(real_kernel(), Share{board.setups.get(), 0b001});
    CHECK(nowhere.set(0, true) == ENOENT);
}

TEST_CASE("SAFE-17: a coil that another hand moves is closed, and the daemon told") {
    SerialWire wire;
    ModbusSlave slave(wire.far_port(), 2);
    const auto bank = std::make_unique<Bank>(real_kernel());
    REQUIRE(bank->add(coil(wire, 2, 3)));
    Told told;
    Keeper keeper(*bank, told);
    Order order;
    order.most_open = 1;
    order.ask = Ask::begin;
    CHECK(keeper.handle(order, steady_ms()).answer == Answer::under_way);
    const auto turn_until = [&](Why why) {
        const std::int64_t until = steady_ms() + 9000;
        while (steady_ms() < until && (told.replies.empty() || told.replies.back().why != why)) {
            order.ask = Ask::beat;
            (void)keeper.handle(order, steady_ms());
            keeper.tick(steady_ms());
            std::this_thread::sleep_for(std::chrono::milliseconds(5));
        }
        REQUIRE_FALSE(told.replies.empty());
        CHECK(told.replies.back().why == why);
    };
    turn_until(Why::closed);
    slave.set_coil(3, true);
    turn_until(Why::disagreed);
    CHECK_FALSE(slave.coil(3));
    CHECK(keeper.open_mask() == 0);
}

} // namespace firstmow::keeper
