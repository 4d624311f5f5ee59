// What the daemon and the valve keeper say to each other, over a SOCK_SEQPACKET socket pair: one
// fixed-size message an order, one an answer. Both ends run on the same machine, so the bytes are
// those of the structs.
//
// The daemon sends Setup messages (a channel each, 0, 1, ...), then begin, then orders; each gets
// one Reply with its sequence number. Between them come Replies with sequence 0: what the keeper
// did unasked. The keeper takes every order as a sign of life; beat is one that asks for nothing.
#pragma once

#include <cstddef>
#include <cstdint>

namespace firstmow::keeper {

inline constexpr std::uint32_t kVersion = 0x464d4b01; // changes with any of the structs
inline constexpr std::size_t kMostChannels = 64;
inline constexpr std::size_t kLongestPlace = 1024; // with its end

enum class Ask : std::uint8_t {
    nothing,   // in replies: unasked
    channel,   // with the rest of Setup: here is a channel
    begin,     // no more channels come: take the devices, close everything
    open,      // channel, lease_ms; one that is open gets its lease anew
    close,     // channel
    close_all, //
    beat,      // still alive; the reply says what is open
    leave,     // close everything and end
};

enum class Driver : std::uint8_t { simulated, gpio };
enum class Bias : std::uint8_t { as_is, disabled, pull_up, pull_down };

struct Order {
    std::uint32_t version = kVersion;
    std::uint32_t sequence = 0;
    Ask ask = Ask::nothing;
    std::uint8_t channel = 0;
    std::uint8_t most_open = 0; // begin: how many channels may be open at once
    std::uint8_t unused = 0;
    std::uint32_t lease_ms = 0; // open: the longest that it may last
};
static_assert(sizeof(Order) == 16);

struct Setup {
    Order order;
    Driver driver = Driver::simulated;
    Bias bias = Bias::as_is;        // gpio
    std::uint8_t active_low = 0;    // gpio
    std::uint8_t unused = 0;        //
    std::uint32_t line = 0;         // gpio: offset on the chip
    std::int32_t number = 0;        // simulated: what the valve file calls it
    char place[kLongestPlace] = {}; // gpio: label, name or path of the chip; simulated: the file
};
static_assert(sizeof(Setup) == 28 + kLongestPlace);

enum class Answer : std::uint8_t {
    done,
    refused, // the order breaks a rule; nothing was moved
    failed,  // the hardware did not do it
};

enum class Why : std::uint8_t {
    none,
    // of a refusal
    malformed,
    wrong_version,
    not_begun,
    begun_already,
    no_such_channel,
    lease_too_short,
    lease_too_long,
    open_too_long,
    too_many_open,
    // of a failure
    hardware,
    // of what was done unasked
    lease_ended,
    silence,
    disagreed,
    closed_at_last,
};

struct Reply {
    std::uint32_t version = kVersion;
    std::uint32_t sequence = 0; // of the order; 0: unasked
    Ask ask = Ask::nothing;
    Answer answer = Answer::done;
    Why why = Why::none;
    std::uint8_t channel = 0; // that was moved; of all: the first that failed
    std::int32_t error = 0;   // errno of a failure
    std::uint64_t open = 0;   // a bit a channel: open, or not known to be closed
};
static_assert(sizeof(Reply) == 24);

} // namespace firstmow::keeper
