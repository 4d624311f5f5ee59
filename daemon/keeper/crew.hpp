// The threads of devices that take their time: one for each bus, begun with it and idle between.
// Orders and results lie on a desk under a lock that is never held while a device is spoken to.
//
// Of several orders for a channel the last one counts; closings go before openings. Between orders
// the threads look at what they have set.
#pragma once

#include "keeper/bus.hpp"

#include <array>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <mutex>

namespace firstmow::keeper {

inline constexpr std::size_t kMostBuses = 16;

class Crew {
public:
    Crew() = default;
    ~Crew(); // after stop()
    Crew(const Crew&) = delete;
    Crew& operator=(const Crew&) = delete;

    // A thread for this bus, which outlives it. 0 or an errno.
    int begin(Bus& bus, std::uint64_t channels);
    // False: a thread hangs in its device; nothing of it may be freed.
    bool stop(int patience_ms);

    // Does not wait for the device.
    void order(std::size_t channel, bool open);
    bool settled(std::size_t& channel, int& error);
    // What was seen since the last order was done: 0 and `open`, an errno, or EAGAIN.
    int seen(std::size_t channel, bool& open);
    // Readable when something has settled; -1 before the first begin().
    int wake_fd() const { return wake_fd_; }

private:
    struct Place {
        bool open = false;         // what was ordered last
        std::uint32_t ordered = 0; // number of the last order
        std::uint32_t done = 0;    // number of the order that was carried out last
        std::uint32_t told = 0;    // ... and was named by settled()
        int error = 0;             // of it
        bool is_seen = false;      // since then
        bool seen_open = false;    //
        int seen_error = 0;        //
        std::int64_t look_ms = 0;  // when to look at it next
    };
    struct Hand {
        Crew* crew = nullptr;
        Bus* bus = nullptr;
        std::uint64_t channels = 0;
    };

    static void* work(void* hand);
    void work_for(Hand& hand);
    // False: nothing is due.
    bool carry_out_one(Hand& hand, std::unique_lock<std::mutex>& lock);
    bool look_at_one(Hand& hand, std::unique_lock<std::mutex>& lock);

    std::mutex mutex_;
    std::condition_variable word_;
    std::condition_variable ended_;
    std::array<Place, kMostChannels> desk_{};
    std::array<Hand, kMostBuses> hands_{};
    std::size_t count_ = 0;
    std::size_t working_ = 0; // threads that have not ended
    bool ends_ = false;
    int wake_fd_ = -1;
};

} // namespace firstmow::keeper
