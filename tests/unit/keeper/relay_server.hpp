// A relay in the network, played: it takes orders, and misbehaves as it is told.
#pragma once

#include "keeper/protocol.hpp"

#include <atomic>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace firstmow::keeper {

class RelayServer {
public:
    enum class Manner {
        good,
        slow,     // never answers
        trickles, // a byte at a time, without end
        wrong,    // says 200 and does nothing
        refuses,  // says 500
        babbles,  // no HTTP
        hangs_up, // closes without a word
        late,     // does as told a moment after it said so
    };

    RelayServer();
    ~RelayServer();
    RelayServer(const RelayServer&) = delete;
    RelayServer& operator=(const RelayServer&) = delete;

    std::uint16_t port() const { return port_; }
    // Orders are PUT /valve with "open" or "closed" in the body, GET /valve tells.
    Setup setup(bool with_read_back = true) const;

    std::atomic<Manner> manner{Manner::good};
    std::atomic<bool> open{false};
    std::vector<std::string> requests() const;

private:
    void serve();
    void converse(int fd);

    bool ordered_ = false; // of the thread alone
    int listener_ = -1;
    std::uint16_t port_ = 0;
    std::atomic<bool> ends_{false};
    mutable std::mutex mutex_;
    std::vector<std::string> requests_;
    std::thread thread_;
};

} // namespace firstmow::keeper
