// A bare connection to the daemon, to speak as no browser would.
#pragma once

#include <string>

namespace firstmow::process {

class RawSocket {
public:
    // With a small window for what comes back, when `deaf`: the sender soon has to wait.
    explicit RawSocket(int port, bool deaf = false);
    ~RawSocket();
    RawSocket(const RawSocket&) = delete;
    RawSocket& operator=(const RawSocket&) = delete;

    // Sends what it can without waiting; whether all of it went.
    bool send(const std::string& text) const;
    // All that comes until the other end closes or `seconds` have passed.
    std::string receive(int seconds = 10) const;
    // Whether the other end has closed within `seconds`.
    bool closed(int seconds) const;

private:
    int socket_ = -1;
};

// More files than usual may be open in this program.
void allow_many_sockets();

} // namespace firstmow::process
