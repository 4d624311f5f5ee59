// Relays in the local network, asked over plain HTTP/1.1. The bytes of each request come ready made
// from the daemon, for a numeric address: here is no name server, no TLS, no URL.
//
// An order is good when the status is 2xx; where there is a request to read back, its answer must
// then hold the sign of the state (white space aside). The first 4 KiB of an answer count.
// Worst case: kExchange_ms each for the order, a look at it and one more look a little later, 4.4 s
// in all; a look between orders twice kExchange_ms.
#pragma once

#include "keeper/bus.hpp"

namespace firstmow::keeper {

class HttpBus : public Bus {
public:
    static constexpr int kExchange_ms = 1400;
    static constexpr int kPause_ms = 200;

    void settle(Kernel& kernel, const Share& share);

    int set(std::size_t channel, bool open) override;
    int read(std::size_t channel, bool& open) override;
    int look_every_ms() const override { return 10'000; }

private:
    int exchange(const Request& request);
    int receive(int fd, std::int64_t until_ms);
    bool is_whole() const;
    int look(const Setup& setup, bool& open);

    Kernel* kernel_ = nullptr;
    Share share_;
    std::array<char, 4096> text_{}; // the answer, ended by 0
    std::size_t size_ = 0;
};

} // namespace firstmow::keeper
