// A device that takes its time: an I2C bus, a serial line, a relay in the network, a latching
// valve's pulse. What is asked of it waits, within a bound that its header states; so each has a
// thread of its own (crew.hpp), and none of them can hold up another or the keeper itself.
//
// Channels are those of the bank; a bus has some of them. All calls come from one thread. It takes
// hold of its device when it first needs it, and anew after a failure, so that an adapter that was
// pulled out works again when it is back. Nothing here allocates.
#pragma once

#include "keeper/kernel.hpp"
#include "keeper/protocol.hpp"

#include <array>
#include <cstddef>
#include <cstdint>

namespace firstmow::keeper {

class Bus {
public:
    virtual ~Bus() = default;
    // Opens or closes, and reads back where that can be done. 0 or an errno: EREMOTEIO it reads
    // back otherwise, ETIMEDOUT no answer, EPROTO it refuses, EBADMSG the answer is spoilt. ENOENT,
    // EACCES, EBUSY (another program has the device), ECONNREFUSED, EHOSTUNREACH, ENETUNREACH and
    // EHOSTDOWN (no connection) only if the device has heard nothing of the order.
    virtual int set(std::size_t channel, bool open) = 0;
    // ENOSYS: cannot be told.
    virtual int read(std::size_t channel, bool& open) = 0;
    // How often a look at a channel that rests is due.
    virtual int look_every_ms() const { return 2000; }
};

// The setups of a bank by channel, and which of them belong to one bus.
struct Share {
    const std::array<Setup, kMostChannels>* setups = nullptr;
    std::uint64_t channels = 0;

    const Setup& of(std::size_t channel) const { return (*setups)[channel]; }
    bool has(std::size_t channel) const { return (channels >> channel & 1) != 0; }
};

// Since some moment, in milliseconds.
std::int64_t steady_ms();

} // namespace firstmow::keeper
