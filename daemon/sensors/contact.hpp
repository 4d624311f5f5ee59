// A mechanical contact: edges in, what it means out. Pure.
//
// A contact that closes bounces for some milliseconds. Pulses: one is counted when the contact
// closes after it has been quiet for the debounce time. Level: it is believed when it has stayed so
// long.
#pragma once

#include <cstdint>

namespace firstmow::sensors {

struct Edge {
    std::uint64_t at_ns = 0; // of the kernel's clock
    bool active = false;     // the contact closed
};

class Pulses {
public:
    explicit Pulses(int debounce_ms)
        : quiet_ns_(static_cast<std::uint64_t>(debounce_ms) * 1'000'000) {}
    // Whether this edge is a pulse.
    bool take(const Edge& edge) {
        const bool quiet = !heard_ || edge.at_ns - last_ns_ >= quiet_ns_;
        heard_ = true;
        last_ns_ = edge.at_ns;
        if (edge.active && quiet) ++count_;
        return edge.active && quiet;
    }
    std::uint64_t count() const { return count_; }

private:
    std::uint64_t quiet_ns_;
    bool heard_ = false;
    std::uint64_t last_ns_ = 0; // of any edge
    std::uint64_t count_ = 0;
};

} // namespace firstmow::sensors
