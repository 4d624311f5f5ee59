// The valve keeper's process: firstmow-keeper PARENT SOCKET. Started by the daemon (see
// valves/keeper_process.hpp) with the daemon's process id and the number of its end of a socket
// pair; of no use by hand.
//
// Exit codes: 0 the daemon left, 1 a valve could not be closed at the end, 2 started wrongly,
// 3 a chip went away (a new keeper must take it anew).
#include "keeper/bank.hpp"
#include "keeper/keeper.hpp"
#include "keeper/post.hpp"

#include <cstdlib>
#include <cstring>

namespace firstmow::keeper {

namespace {

class ToDaemon : public Keeper::Listener {
public:
    void tell(const Reply& reply) override { send(reply); }
};

// All that the keeper ever uses of memory.
struct Room {
    Bank bank{real_kernel()};
    ToDaemon daemon;
    Keeper keeper{bank, daemon};
    Setup message;
};

Reply refusal(const Order& order, Why why) {
    Reply reply;
    reply.sequence = order.sequence;
    reply.ask = order.ask;
    reply.answer = Answer::refused;
    reply.why = why;
    return reply;
}

void take_message(Room& room, std::size_t size) {
    const Order& order = room.message.order;
    const bool is_setup = size == sizeof(Setup) && order.ask == Ask::channel;
    if (is_setup) {
        Reply reply = refusal(order, Why::malformed);
        if (order.version != kVersion) {
            reply.why = Why::wrong_version;
        } else if (room.keeper.begun()) {
            reply.why = Why::begun_already;
        } else if (room.bank.add(room.message)) {
            reply.answer = Answer::done;
            reply.why = Why::none;
        }
        send(reply);
        return;
    }
    if (size != sizeof(Order)) {
        Order unknown;
        if (size >= sizeof(Order)) unknown = order;
        send(refusal(unknown, Why::malformed));
        return;
    }
    send(room.keeper.handle(order, boot_ms()));
}

// SAFE-13: the last act. Tries for a while; whoever comes next tries again.
int close_and_end(Room& room, int code) {
    if (!room.keeper.begun()) return code;
    constexpr std::int64_t kPatience_ms = 10'000;
    const std::int64_t until_ms = boot_ms() + kPatience_ms;
    // One that was told to leave has told its lines already.
    if (!room.keeper.left()) (void)room.keeper.close_all(boot_ms());
    bool said = room.keeper.left(); // the daemon has it in the reply to its farewell
    while (room.keeper.open_mask() != 0 && boot_ms() < until_ms) {
        if (!said && (room.keeper.open_mask() & ~room.keeper.moving_mask()) != 0) {
            say("a valve does not close; trying on");
            said = true;
        }
        real_kernel().pause_ms(20);
        room.keeper.tick(boot_ms());
    }
    if (room.keeper.open_mask() == 0) return code;
    say("ends with a valve that does not close");
    return 1;
}

int keep(Room& room) {
    for (;;) {
        std::size_t size = 0;
        const std::int64_t until = room.keeper.next_ms(boot_ms());
        const Heard heard =
            wait_for(&room.message, sizeof room.message, size, until, room.bank.wake_fd());
        if (heard == Heard::gone || told_to_end()) return close_and_end(room, 0);
        if (heard == Heard::message) take_message(room, size);
        if (room.keeper.left()) return room.keeper.open_mask() == 0 ? 0 : close_and_end(room, 0);
        room.keeper.tick(boot_ms());
        if (room.keeper.broken()) {
            say("a chip has gone away");
            return close_and_end(room, 3);
        }
    }
}

} // namespace

} // namespace firstmow::keeper

int main(int argc, char** argv) {
    using namespace firstmow::keeper;
    static Room room;
    const int parent = argc == 3 ? std::atoi(argv[1]) : 0;
    const int socket = argc == 3 ? std::atoi(argv[2]) : -1;
    if (parent <= 0 || socket < kSocket) {
        say("is started by firstmowd, not by hand");
        return 2;
    }
    if (!settle(parent, socket)) return 0; // the daemon died before we began: nothing was opened
    // Without waiting for a thread that hangs in its device, and without tidying up under its feet.
    std::_Exit(keep(room));
}
