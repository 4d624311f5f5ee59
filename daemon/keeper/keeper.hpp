// The keeper's rules: when a valve may open, and every way in which it closes again. No I/O, no
// clock, no allocation: the time is an argument, the hardware an interface.
//
// SAFE-10 Nothing opens before every channel has been told to close (begin).
// SAFE-11 Every opening has a lease; at its end the valve is closed, whoever still speaks.
// SAFE-12 Nothing heard for kSilence_ms: every valve is closed.
// SAFE-13 The peer is gone, or says that it leaves: every valve is closed, and the keeper ends.
// SAFE-14 A lease longer than kLongestLease_ms, or one that would make an opening last longer than
//         kLongestOpen_ms in all, is refused; what was granted before stays and ends.
// SAFE-15 No more than `most_open` channels of begin, and never more than kMostOpen, are open.
// SAFE-16 A valve that does not close counts as open, and is told again every kAgain_ms.
// SAFE-17 A line that reads back otherwise than it was set is closed, and the daemon told.
// SAFE-19 A device that takes its time holds up no other: its orders are under way until it has
//         answered, and meanwhile its valve counts as open; one that has not answered for
//         kSlowest_ms has failed (SAFE-16).
//
// Assumptions: closed is the state of a valve without power; and of a line that nobody holds, by
// the pin's own pull: when the keeper ends, some kernels let go of its lines and some go on driving
// them as they were, closed. `now_ms` never runs back and counts
// through suspend (CLOCK_BOOTTIME). No call of Lines waits longer than milliseconds. One order is
// handled between two ticks, so that a flood of orders does not keep a lease from ending.
#pragma once

#include "keeper/lines.hpp"
#include "keeper/protocol.hpp"

#include <array>
#include <cstdint>

namespace firstmow::keeper {

inline constexpr std::int64_t kSilence_ms = 10'000;
// A person may order four hours; a little grace on top.
inline constexpr std::int64_t kLongestLease_ms = (4 * 60 + 10) * 60 * 1000;
inline constexpr std::int64_t kLongestOpen_ms = 8LL * 60 * 60 * 1000;
inline constexpr std::size_t kMostOpen = 16;
inline constexpr std::int64_t kAgain_ms = 1000;
inline constexpr std::int64_t kReadBack_ms = 2000;
inline constexpr std::int64_t kLongestSleep_ms = 250; // bounds how late a suspend is noticed
inline constexpr std::int64_t kSlowest_ms = 9000;

class Keeper {
public:
    // Hears what was done unasked.
    class Listener {
    public:
        virtual ~Listener() = default;
        virtual void tell(const Reply& reply) = 0;
    };

    Keeper(Lines& lines, Listener& listener) : lines_(lines), listener_(listener) {}

    // Every order but `channel`, which is for whoever owns the lines.
    Reply handle(const Order& order, std::int64_t now_ms);
    // Ends what is over; call it at least when next_ms() has come, and after every order.
    void tick(std::int64_t now_ms);
    std::int64_t next_ms(std::int64_t now_ms) const;
    // Every valve, whatever is believed of it. The first failure; what is under way is in `moving`.
    Reply close_all(std::int64_t now_ms);

    bool begun() const { return begun_; }
    bool left() const { return left_; }     // the peer said goodbye: everything was closed
    bool broken() const { return broken_; } // a chip has gone away: end, and be started anew
    std::uint64_t open_mask() const;
    std::uint64_t moving_mask() const;

private:
    // What a device that takes its time is at.
    enum class Move : std::uint8_t { none, opening, closing };
    struct Channel {
        bool open = false; // or not known to be closed
        bool stuck = false;
        Move move = Move::none;
        bool was_closed = false; // before it was ordered to open
        Why why = Why::none;     // what the end of the move is told as
        int error = 0;           // ... and with
        std::int64_t moved_ms = 0;
        std::int64_t opened_ms = 0;
        std::int64_t until_ms = 0;
        std::int64_t again_ms = 0;
    };

    Reply begin(const Order& order, std::int64_t now_ms);
    Reply open(const Order& order, std::int64_t now_ms);
    Reply close(const Order& order, std::int64_t now_ms);
    Why objection(const Order& order, std::int64_t now_ms) const;
    // 0, an errno, or EINPROGRESS: then `why` is told when it is done.
    int shut(std::size_t channel, std::int64_t now_ms, Why why, int told_error = 0);
    int note(int error);
    Reply finished(Reply reply, std::int64_t now_ms) const;
    void settle(std::int64_t now_ms);
    void settle_one(std::size_t channel, int error, std::int64_t now_ms);
    void give_up_waiting(std::int64_t now_ms);
    void end_leases(std::int64_t now_ms);
    void end_silence(std::int64_t now_ms);
    void read_back(std::int64_t now_ms);
    void tell(std::size_t channel, Why why, int error, std::int64_t now_ms);
    std::size_t count() const;
    std::size_t open_count() const;

    Lines& lines_;
    Listener& listener_;
    std::array<Channel, kMostChannels> channels_{};
    std::size_t most_open_ = 0;
    std::int64_t heard_ms_ = 0;
    std::int64_t read_back_ms_ = 0;
    bool begun_ = false;
    bool left_ = false;
    bool broken_ = false;
};

} // namespace firstmow::keeper
