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

inline constexpr std::uint32_t kVersion = 0x464d4b02; // changes with any of the structs
inline constexpr std::size_t kMostChannels = 64;
inline constexpr std::size_t kLongestPlace = 1024; // with its end
inline constexpr std::size_t kLongestRequest = 1280;
inline constexpr std::size_t kLongestSign = 128; // with its end

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

enum class Driver : std::uint8_t { simulated, gpio, mcp23017, pcf8574, modbus, http };
enum class Bias : std::uint8_t { as_is, disabled, pull_up, pull_down };
enum class Parity : std::uint8_t { none, even, odd };

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

// http: where to, and every byte to send. Length 0: there is none.
struct Request {
    std::uint8_t address[4] = {};
    std::uint16_t port = 0;
    std::uint16_t length = 0;
    char text[kLongestRequest] = {};
};

struct Setup {
    Order order;
    Driver driver = Driver::simulated;
    Bias bias = Bias::as_is;          // gpio
    Parity parity = Parity::none;     // modbus
    std::uint8_t stop_bits = 1;       // modbus
    std::uint8_t active_low = 0;      // gpio and expanders
    std::uint8_t address = 0;         // expanders: on the bus; modbus: the unit
    std::uint16_t pulse_ms = 0;       // gpio and expanders: latching, if not 0
    std::uint16_t close_pulse_ms = 0; // latching
    std::uint16_t line = 0;           // gpio and expanders: offset; modbus: coil
    std::uint16_t close_line = 0;     // latching; may be `line`
    std::uint16_t unused = 0;
    std::int32_t number = 0; // simulated: what the valve file calls it
    std::uint32_t baud = 0;  // modbus
    // gpio: label, name or path of the chip; expanders: path of the bus; modbus: of the port;
    // simulated: the file; http: nothing
    char place[kLongestPlace] = {};
    Request open; // http
    Request close;
    Request read;
    char when_open[kLongestSign] = {}; // in the answer to `read`, white space aside
    char when_closed[kLongestSign] = {};
};
static_assert(sizeof(Setup) == 40 + kLongestPlace + 3 * (8 + kLongestRequest) + 2 * kLongestSign);

enum class Answer : std::uint8_t {
    done,
    under_way, // what becomes of it is told later
    refused,   // the order breaks a rule; nothing was moved
    failed,    // the hardware did not do it
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
    // of what was under way, and is done
    opened,
    closed,
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
    std::uint64_t moving = 0; // a bit a channel: an order is under way
    std::int64_t at_ms = 0;   // CLOCK_BOOTTIME, when this was so
};
static_assert(sizeof(Reply) == 40);

} // namespace firstmow::keeper
