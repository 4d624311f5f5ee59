// The keeper's rules, with played lines and a played clock.
#include "fakes.hpp"

#include <cerrno>
#include <doctest/doctest.h>

namespace firstmow::keeper {

namespace {

struct Rig {
    explicit Rig(std::size_t channels = 3, std::uint8_t most_open = 2, bool begun = true)
        : lines(channels), keeper(lines, told) {
        if (!begun) return;
        Order order;
        order.ask = Ask::begin;
        order.most_open = most_open;
        REQUIRE(keeper.handle(order, now_ms).answer == Answer::done);
        lines.did.clear();
    }
    Reply ask(Ask what, std::size_t channel = 0, std::int64_t lease_ms = 60'000) {
        Order order;
        order.ask = what;
        order.sequence = ++sequence;
        order.channel = static_cast<std::uint8_t>(channel);
        order.lease_ms = static_cast<std::uint32_t>(lease_ms);
        const Reply reply = keeper.handle(order, now_ms);
        CHECK(reply.sequence == order.sequence);
        keeper.tick(now_ms);
        return reply;
    }
    // The clock goes on, with ticks as the process makes them, and with beats or without.
    void pass(std::int64_t ms, bool beats = true) {
        const std::int64_t until = now_ms + ms;
        while (now_ms < until) {
            const std::int64_t next = keeper.next_ms(now_ms);
            now_ms = std::min(until, std::max(next, now_ms + 1));
            keeper.tick(now_ms);
            if (beats) ask(Ask::beat);
        }
    }

    FakeLines lines;
    Told told;
    Keeper keeper;
    std::int64_t now_ms = 1'000'000;
    std::uint32_t sequence = 0;
};

} // namespace

TEST_CASE("SAFE-10: nothing opens before every channel has been told to close") {
    Rig rig(3, 2, false);
    for (const Ask what : {Ask::open, Ask::close, Ask::close_all, Ask::beat, Ask::leave}) {
        const Reply refused = rig.ask(what);
        CHECK(refused.answer == Answer::refused);
        CHECK(refused.why == Why::not_begun);
    }
    CHECK(rig.lines.did.empty());
    rig.lines.level = {true, true, true}; // as a dead predecessor left them
    CHECK(rig.ask(Ask::begin).answer == Answer::done);
    CHECK(rig.lines.did == std::vector<std::string>{"take", "0 closed", "1 closed", "2 closed"});
    CHECK(rig.lines.all_closed());
    CHECK(rig.ask(Ask::begin).why == Why::begun_already);
}

TEST_CASE("SAFE-10: at the beginning, one valve that fails does not keep the others from closing") {
    Rig rig(3, 2, false);
    rig.lines.level = {true, true, true};
    rig.lines.close_error[0] = EACCES;
    const Reply begun = rig.ask(Ask::begin);
    CHECK(begun.answer == Answer::failed);
    CHECK(begun.channel == 0);
    CHECK(begun.error == EACCES);
    CHECK(begun.open == 1);
    CHECK_FALSE(rig.lines.level[1]);
    CHECK_FALSE(rig.lines.level[2]);
}

TEST_CASE("SAFE-11: an opening ends with its lease, to the millisecond of the clock") {
    Rig rig;
    CHECK(rig.ask(Ask::open, 1, 60'000).answer == Answer::done);
    CHECK(rig.lines.level[1]);
    rig.pass(59'999);
    CHECK(rig.lines.level[1]);
    CHECK(rig.told.replies.empty());
    rig.pass(1);
    CHECK_FALSE(rig.lines.level[1]);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::lease_ended);
    CHECK(rig.told.replies[0].channel == 1);
    CHECK(rig.told.replies[0].sequence == 0);
    CHECK(rig.told.replies[0].open == 0);
}

TEST_CASE("SAFE-11: opened again, the lease begins anew and the line is not touched") {
    Rig rig;
    rig.ask(Ask::open, 0, 60'000);
    rig.pass(50'000);
    CHECK(rig.ask(Ask::open, 0, 30'000).answer == Answer::done);
    CHECK(rig.lines.did == std::vector<std::string>{"0 open"});
    rig.pass(29'999);
    CHECK(rig.lines.level[0]);
    rig.pass(1);
    CHECK_FALSE(rig.lines.level[0]);
    // Shorter too.
    rig.ask(Ask::open, 0, 60'000);
    rig.ask(Ask::open, 0, 1'000);
    rig.pass(1'000);
    CHECK_FALSE(rig.lines.level[0]);
}

TEST_CASE("SAFE-11: a clock that leaps, as over a suspend, ends what is over at once") {
    Rig rig;
    rig.ask(Ask::open, 0, 60'000);
    CHECK(rig.keeper.next_ms(rig.now_ms) <= rig.now_ms + kLongestSleep_ms);
    rig.now_ms += 3600'000;
    rig.keeper.tick(rig.now_ms);
    CHECK(rig.lines.all_closed());
}

TEST_CASE("SAFE-12: after ten seconds without a word every valve is closed, and may open again") {
    Rig rig;
    rig.ask(Ask::open, 0);
    rig.ask(Ask::open, 2);
    rig.pass(9'999, false);
    CHECK(rig.lines.level[0]);
    rig.pass(1, false);
    CHECK(rig.lines.all_closed());
    REQUIRE(rig.told.replies.size() == 2);
    CHECK(rig.told.replies[0].why == Why::silence);
    CHECK(rig.told.replies[1].channel == 2);
    rig.pass(60'000, false);
    CHECK(rig.told.replies.size() == 2);
    CHECK(rig.ask(Ask::open, 0).answer == Answer::done);
    CHECK(rig.lines.level[0]);
}

TEST_CASE("SAFE-12: beats keep a valve open, orders of another version do not") {
    Rig rig;
    rig.ask(Ask::open, 0, 120'000);
    rig.pass(60'000, true);
    CHECK(rig.lines.level[0]);
    for (int i = 0; i < 11; ++i) {
        rig.pass(1'000, false);
        Order strange;
        strange.version = kVersion + 1;
        strange.ask = Ask::beat;
        CHECK(rig.keeper.handle(strange, rig.now_ms).why == Why::wrong_version);
    }
    CHECK_FALSE(rig.lines.level[0]);
}

TEST_CASE("SAFE-13: leaving closes every valve, whatever is believed of it") {
    Rig rig;
    rig.ask(Ask::open, 1);
    rig.lines.level[2] = true; // behind the keeper's back
    CHECK(rig.ask(Ask::leave).answer == Answer::done);
    CHECK(rig.keeper.left());
    CHECK(rig.lines.all_closed());
}

TEST_CASE("SAFE-14: leases of nothing and leases beyond the limit are refused") {
    Rig rig;
    CHECK(rig.ask(Ask::open, 0, 0).why == Why::lease_too_short);
    CHECK(rig.ask(Ask::open, 0, kLongestLease_ms + 1).why == Why::lease_too_long);
    CHECK(rig.lines.did.empty());
    CHECK(rig.ask(Ask::open, 0, kLongestLease_ms).answer == Answer::done);
}

TEST_CASE("SAFE-14: an opening cannot be drawn out for ever") {
    Rig rig;
    rig.ask(Ask::open, 0, 3600'000);
    Reply reply;
    const std::int64_t began = rig.now_ms;
    for (int halves = 0; halves < 24 && reply.answer == Answer::done; ++halves) {
        rig.pass(1800'000);
        reply = rig.ask(Ask::open, 0, 3600'000);
    }
    CHECK(reply.why == Why::open_too_long);
    CHECK(rig.lines.level[0]); // what was granted stays
    rig.pass(1800'000);
    CHECK_FALSE(rig.lines.level[0]);
    CHECK(rig.now_ms - began <= kLongestOpen_ms);
}

TEST_CASE("SAFE-15: no more valves at once than was said at the beginning") {
    Rig rig(4, 2);
    CHECK(rig.ask(Ask::open, 0).answer == Answer::done);
    CHECK(rig.ask(Ask::open, 1).answer == Answer::done);
    const Reply third = rig.ask(Ask::open, 2);
    CHECK(third.answer == Answer::refused);
    CHECK(third.why == Why::too_many_open);
    CHECK(third.open == 3);
    CHECK_FALSE(rig.lines.level[2]);
    CHECK(rig.ask(Ask::open, 1).answer == Answer::done); // one that is open is not one more
    CHECK(rig.ask(Ask::close, 0).answer == Answer::done);
    CHECK(rig.ask(Ask::open, 2).answer == Answer::done);
}

TEST_CASE("SAFE-15: whatever was said, never more than the keeper's own limit; none when none") {
    Rig rig(kMostChannels, 255);
    std::size_t opened = 0;
    for (std::size_t i = 0; i < kMostChannels; ++i)
        if (rig.ask(Ask::open, i).answer == Answer::done) ++opened;
    CHECK(opened == kMostOpen);
    Rig shut(2, 0);
    CHECK(shut.ask(Ask::open, 0).why == Why::too_many_open);
}

TEST_CASE("SAFE-16: a valve that does not close counts as open and is told again until it obeys") {
    Rig rig(3, 2);
    rig.ask(Ask::open, 0);
    rig.lines.close_error[0] = EIO;
    const Reply failed = rig.ask(Ask::close, 0);
    CHECK(failed.answer == Answer::failed);
    CHECK(failed.error == EIO);
    CHECK(failed.open == 1);
    CHECK(rig.ask(Ask::open, 1).answer == Answer::done);
    CHECK(rig.ask(Ask::open, 2).why == Why::too_many_open);
    rig.lines.did.clear();
    rig.pass(3'500);
    CHECK(rig.lines.did.size() == 3);
    CHECK(rig.told.replies.empty());
    rig.lines.close_error[0] = 0;
    rig.pass(1'000);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::closed_at_last);
    CHECK(rig.told.replies[0].open == 2);
}

TEST_CASE("SAFE-16: a valve that fails to open is told to close") {
    Rig rig;
    rig.lines.open_error[0] = EREMOTEIO;
    const Reply failed = rig.ask(Ask::open, 0);
    CHECK(failed.answer == Answer::failed);
    CHECK(failed.error == EREMOTEIO);
    CHECK(failed.open == 0);
    CHECK(rig.lines.did == std::vector<std::string>{"0 open", "0 closed"});
    // And when that fails too, it may be open.
    rig.lines.close_error[0] = EIO;
    CHECK(rig.ask(Ask::open, 0).open == 1);
}

TEST_CASE("SAFE-17: a line that reads back otherwise than it was set is closed") {
    Rig rig;
    rig.lines.level[2] = true;
    rig.pass(kReadBack_ms);
    CHECK_FALSE(rig.lines.level[2]);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::disagreed);
    CHECK(rig.told.replies[0].channel == 2);
    // One that should be open and is not: not opened behind anybody's back.
    rig.ask(Ask::open, 1);
    rig.lines.level[1] = false;
    rig.pass(kReadBack_ms);
    REQUIRE(rig.told.replies.size() == 2);
    CHECK(rig.told.replies[1].channel == 1);
    CHECK(rig.told.replies[1].open == 0);
    CHECK(rig.lines.all_closed());
}

TEST_CASE("lines that cannot be read back are believed; a chip that goes away ends the keeper") {
    Rig rig;
    rig.lines.read_error = ENOSYS;
    rig.ask(Ask::open, 0, 60'000);
    rig.pass(10'000);
    CHECK(rig.lines.level[0]);
    CHECK(rig.told.replies.empty());
    CHECK_FALSE(rig.keeper.broken());
    rig.lines.read_error = ENODEV;
    rig.pass(kReadBack_ms);
    CHECK(rig.keeper.broken());
    CHECK(rig.lines.all_closed());
}

TEST_CASE("orders that make no sense are refused and move nothing") {
    Rig rig(2);
    CHECK(rig.ask(Ask::open, 2).why == Why::no_such_channel);
    CHECK(rig.ask(Ask::close, 255).why == Why::no_such_channel);
    CHECK(rig.ask(Ask::nothing).why == Why::malformed);
    CHECK(rig.ask(Ask::channel).why == Why::malformed);
    CHECK(rig.ask(static_cast<Ask>(200)).why == Why::malformed);
    CHECK(rig.lines.did.empty());
}

} // namespace firstmow::keeper
