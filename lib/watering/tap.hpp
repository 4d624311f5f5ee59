// The shared tap: what of its flow is taken when, as runs are laid into it. Inside of the room.
#pragma once

#include "garden/garden.hpp"
#include "watering/open_hours.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace firstmow::watering {

// Keeps to the flow, to the zones that may run at once, and to the pump's rest from one start to
// another.
class Tap {
public:
    explicit Tap(const garden::Garden& garden);

    void take(WallTime from, WallTime to, double flow_l_per_min);
    bool has_room(WallTime from, WallTime to, double flow_l_per_min) const;

    // The latest start at or before `wanted`, not before `earliest`, with room for the run, inside
    // one of `open`.
    std::optional<WallTime> latest(const std::vector<Span>& open, WallTime wanted,
                                   WallTime earliest, Seconds run, double flow_l_per_min) const;
    // The first start at or after `from` with room for it.
    std::optional<WallTime> earliest(const std::vector<Span>& open, WallTime from, Seconds run,
                                     double flow_l_per_min) const;

private:
    struct Taken {
        Span span;
        double flow;
    };

    double used_at(WallTime t) const;
    bool is_full_at(WallTime t, double flow_l_per_min) const;
    // Whether the pump may start for this run, and after it for the next: it rests from one start
    // to another, but runs on from a run to one that follows at once.
    bool pump_may(WallTime from, WallTime to) const;

    double flow_;
    std::size_t at_once_;
    Seconds pump_rest_;
    std::vector<Taken> taken_;
};

} // namespace firstmow::watering
