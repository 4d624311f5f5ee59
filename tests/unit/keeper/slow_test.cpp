// The keeper's rules with devices that take their time, and the threads that tend those.
#include "fakes.hpp"

#include "keeper/crew.hpp"

#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <doctest/doctest.h>
#include <mutex>
#include <thread>

namespace firstmow::keeper {

namespace {

// Channel 0 is quick, 1 and 2 take their time.
struct Rig {
    Rig() : lines(3), keeper(lines, told) {
        lines.slow = {false, true, true};
        Order order;
        order.ask = Ask::begin;
        order.most_open = 3;
        const Reply begun = keeper.handle(order, now_ms);
        CHECK(begun.answer == Answer::under_way);
        CHECK(begun.open == 0b110);
        CHECK(begun.moving == 0b110);
        settle(1);
        settle(2);
        CHECK(told.replies.size() == 2);
        CHECK(keeper.open_mask() == 0);
        forget();
    }
    void forget() {
        told.replies.clear();
        lines.did.clear();
    }
    Reply ask(Ask what, std::size_t channel = 1, std::uint32_t lease_ms = 60'000) {
        Order order;
        order.ask = what;
        order.sequence = 1;
        order.channel = static_cast<std::uint8_t>(channel);
        order.lease_ms = lease_ms;
        const Reply reply = keeper.handle(order, now_ms);
        keeper.tick(now_ms);
        return reply;
    }
    void settle(std::size_t channel, int error = 0) {
        lines.finish(channel, error);
        keeper.tick(now_ms);
    }
    void pass(std::int64_t ms, bool beats = true) {
        const std::int64_t until = now_ms + ms;
        while (now_ms < until) {
            now_ms = std::min(until, std::max(keeper.next_ms(now_ms), now_ms + 1));
            keeper.tick(now_ms);
            if (beats) ask(Ask::beat);
        }
    }
    void open(std::size_t channel = 1) {
        REQUIRE(ask(Ask::open, channel).answer == Answer::under_way);
        settle(channel);
        REQUIRE(told.replies.size() == 1);
        CHECK(told.replies[0].why == Why::opened);
        forget();
    }

    FakeLines lines;
    Told told;
    Keeper keeper;
    std::int64_t now_ms = 1'000'000;
};

} // namespace

TEST_CASE(
    "SAFE-19: an order to a slow device is under way, counts as open, and is told when done") {
    Rig rig;
    const Reply asked = rig.ask(Ask::open);
    CHECK(asked.answer == Answer::under_way);
    CHECK(asked.open == 0b010);
    CHECK(asked.moving == 0b010);
    CHECK(rig.told.replies.empty());
    rig.now_ms += 700;
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::opened);
    CHECK(rig.told.replies[0].open == 0b010);
    CHECK(rig.told.replies[0].moving == 0);
    CHECK(rig.told.replies[0].at_ms == rig.now_ms);
    CHECK(rig.ask(Ask::close).answer == Answer::under_way);
    CHECK(rig.keeper.open_mask() == 0b010);
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 2);
    CHECK(rig.told.replies[1].why == Why::closed);
    CHECK(rig.keeper.open_mask() == 0);
}

TEST_CASE("SAFE-19: a quick valve closes in time while a slow one hangs") {
    Rig rig;
    rig.open();
    rig.ask(Ask::open, 0, 2000);
    CHECK(rig.ask(Ask::close).answer == Answer::under_way);
    rig.pass(2000);
    CHECK_FALSE(rig.lines.level[0]);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::lease_ended);
    CHECK(rig.told.replies[0].channel == 0);
}

TEST_CASE("SAFE-11: the lease of a slow valve ends, also before it has opened") {
    Rig rig;
    rig.ask(Ask::open, 1, 500);
    rig.pass(600);
    CHECK(rig.lines.did == std::vector<std::string>{"1 open", "1 closed"});
    rig.settle(1); // the closing; the opening was overtaken by it
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::lease_ended);
    CHECK(rig.keeper.open_mask() == 0);
}

TEST_CASE("SAFE-12: silence closes a slow valve, once") {
    Rig rig;
    rig.open();
    rig.pass(kSilence_ms + 1000, false);
    CHECK(rig.lines.did == std::vector<std::string>{"1 closed"});
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::silence);
}

TEST_CASE("SAFE-16: a slow valve that does not close is told again, and told of once") {
    Rig rig;
    rig.open();
    rig.ask(Ask::close);
    rig.settle(1, ETIMEDOUT);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].answer == Answer::failed);
    CHECK(rig.told.replies[0].error == ETIMEDOUT);
    CHECK(rig.told.replies[0].open == 0b010);
    for (int i = 0; i < 3; ++i) {
        rig.pass(kAgain_ms);
        rig.settle(1, ETIMEDOUT);
    }
    CHECK(rig.lines.did.size() == 4);
    CHECK(rig.told.replies.size() == 1);
    rig.pass(kAgain_ms);
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 2);
    CHECK(rig.told.replies[1].why == Why::closed_at_last);
    CHECK(rig.keeper.open_mask() == 0);
}

TEST_CASE("SAFE-19: a device that does not come back has failed, whatever was asked of it") {
    Rig rig;
    rig.ask(Ask::open);
    rig.pass(kSlowest_ms + 300);
    CHECK(rig.lines.did == std::vector<std::string>{"1 open", "1 closed"});
    CHECK(rig.told.replies.empty());
    rig.pass(kSlowest_ms + 300);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::hardware);
    CHECK(rig.told.replies[0].error == ETIMEDOUT);
    CHECK(rig.told.replies[0].open == 0b010);
    rig.pass(3 * kSlowest_ms);
    CHECK(rig.told.replies.size() == 1);
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 2);
    CHECK(rig.told.replies[1].why == Why::closed_at_last);
}

TEST_CASE("an opening that failed is closed, and told of when that is done") {
    Rig rig;
    rig.ask(Ask::open);
    rig.settle(1, EREMOTEIO);
    CHECK(rig.told.replies.empty());
    CHECK(rig.lines.did.back() == "1 closed");
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].answer == Answer::failed);
    CHECK(rig.told.replies[0].error == EREMOTEIO);
    CHECK(rig.told.replies[0].open == 0);
}

TEST_CASE("a device that heard nothing of an opening leaves a closed valve closed") {
    Rig rig;
    rig.ask(Ask::open);
    rig.settle(1, EHOSTUNREACH);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].error == EHOSTUNREACH);
    CHECK(rig.told.replies[0].open == 0);
    CHECK(rig.lines.did == std::vector<std::string>{"1 open"});
}

TEST_CASE("SAFE-17: a slow line that reads back otherwise is closed and told of") {
    Rig rig;
    rig.open();
    rig.lines.level[1] = false;
    rig.pass(kReadBack_ms + 300);
    CHECK(rig.lines.did == std::vector<std::string>{"1 closed"});
    rig.settle(1);
    REQUIRE(rig.told.replies.size() == 1);
    CHECK(rig.told.replies[0].why == Why::disagreed);
    // One that is not seen is not doubted.
    rig.forget();
    rig.lines.read_error = EAGAIN;
    rig.open(2);
    rig.pass(3 * kReadBack_ms);
    CHECK(rig.told.replies.empty());
}

namespace {

// A device whose orders wait until they are let through.
class Gate : public Bus {
public:
    int set(std::size_t channel, bool open) override {
        std::unique_lock lock(mutex_);
        log.push_back(std::to_string(channel) + (open ? " open" : " closed"));
        begun_.notify_all();
        let_.wait(lock, [&] { return lets_ > 0; });
        --lets_;
        return 0;
    }
    int read(std::size_t, bool& open) override {
        open = true;
        return 0;
    }
    int look_every_ms() const override { return 10; }
    void wait_for(std::size_t count) {
        std::unique_lock lock(mutex_);
        begun_.wait(lock, [&] { return log.size() >= count; });
    }
    void let(int count) {
        const std::lock_guard lock(mutex_);
        lets_ += count;
        let_.notify_all();
    }
    std::vector<std::string> log;

private:
    std::mutex mutex_;
    std::condition_variable begun_;
    std::condition_variable let_;
    int lets_ = 0;
};

void wait_until_settled(Crew& crew, std::size_t wanted) {
    for (;;) {
        std::size_t channel = 99;
        int error = 99;
        if (!crew.settled(channel, error)) {
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
            continue;
        }
        CHECK(channel == wanted);
        CHECK(error == 0);
        return;
    }
}

} // namespace

TEST_CASE("the last of several orders counts, and closings go first") {
    Gate gate;
    Crew crew;
    REQUIRE(crew.begin(gate, 0b111) == 0);
    crew.order(0, true);
    gate.wait_for(1);
    crew.order(1, true);
    crew.order(2, false);
    crew.order(1, false);
    crew.order(1, true); // what is not begun yet is not done in vain
    gate.let(1);
    wait_until_settled(crew, 0);
    gate.wait_for(2);
    gate.let(1);
    wait_until_settled(crew, 2);
    gate.wait_for(3);
    gate.let(1);
    wait_until_settled(crew, 1);
    CHECK(gate.log == std::vector<std::string>{"0 open", "2 closed", "1 open"});
    bool open = false;
    while (crew.seen(0, open) == EAGAIN)
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    CHECK(open);
    CHECK(crew.stop(5000));
}

TEST_CASE("one device that hangs holds up no other") {
    Gate stuck;
    Gate free;
    Crew crew;
    REQUIRE(crew.begin(stuck, 0b01) == 0);
    REQUIRE(crew.begin(free, 0b10) == 0);
    crew.order(0, false);
    stuck.wait_for(1);
    free.let(1);
    crew.order(1, false);
    wait_until_settled(crew, 1);
    CHECK_FALSE(crew.stop(50));
    stuck.let(1);
    CHECK(crew.stop(5000));
}

} // namespace firstmow::keeper
