// The daemon's end of the valve keeper: starts it, asks it, ends it.
//
// The keeper is a program of its own (firstmow-keeper, beside the running one), started with
// posix_spawn, not a fork of the daemon: so it shares neither heap nor locks nor libraries with
// it, may be started anew at any moment although threads run by then, and its few pages can be
// locked into memory. It ends with its parent: its end of the socket pair says so, and a signal.
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"
#include "keeper/protocol.hpp"

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace firstmow::valves {

// Made beforehand, so that a keeper can be started anew when descriptors have run out.
class SocketPair {
public:
    static Result<SocketPair> make();
    SocketPair(SocketPair&& other) noexcept;
    SocketPair& operator=(SocketPair&& other) noexcept;
    ~SocketPair();

    int take_ours();
    int theirs() const { return theirs_; }

private:
    SocketPair(int ours, int theirs) : ours_(ours), theirs_(theirs) {}
    int ours_ = -1;
    int theirs_ = -1;
};

class KeeperProcess {
public:
    // Starts one; nothing has been said to it yet.
    static Result<std::unique_ptr<KeeperProcess>> start(SocketPair sockets,
                                                        const std::string& program = {});
    ~KeeperProcess(); // what still runs is killed; returns when it is gone
    KeeperProcess(const KeeperProcess&) = delete;
    KeeperProcess& operator=(const KeeperProcess&) = delete;

    // Waits for the answer; none when the keeper is gone, or silent for `limit`.
    std::optional<keeper::Reply> ask(keeper::Order order, Millis limit = kPatience);
    std::optional<keeper::Reply> ask(const keeper::Setup& setup, Millis limit = kPatience);
    // Without waiting. False: the keeper is gone.
    bool beat();

    enum class Heard { nothing, reply, gone };
    // What came in besides the answers that were waited for, oldest first. Does not wait.
    Heard hear(keeper::Reply& reply);
    // Waits for an end that was asked for. True: it ended, and had closed everything.
    bool wait_for_end(Millis limit);

    int socket() const { return socket_; }
    int pid() const { return pid_; }

    static constexpr Millis kPatience{2000};

private:
    KeeperProcess(int socket, int pid) : socket_(socket), pid_(pid) {}
    std::optional<keeper::Reply> exchange(const void* message, std::size_t size,
                                          std::uint32_t sequence, Millis limit);
    Heard receive(keeper::Reply& reply);
    bool reap();

    int socket_;
    int pid_;
    bool ended_ = false;
    int status_ = -1; // as of waitpid
    bool gone_ = false;
    std::uint32_t sequence_ = 0;
    std::deque<keeper::Reply> unread_;
};

} // namespace firstmow::valves
