// A season as a journal tells it, for an engine that would have decided otherwise.
//
// A journal holds what came in and what the valves did. An engine of another make that is run over
// what came in alone decides otherwise, and then takes the valves' answers for faults: its budget
// is of water that never ran. So it is told of the runs as they were, and decides nothing: weather,
// reports of people, holds and sensors are taken as ever, orders and answers of valves are passed
// over, for the runs that came of them are known. What is lost is what only decisions leave behind:
// the rest of a run that was split, warnings already given, what the flow meter taught.
#pragma once

#include "engine/engine.hpp"

#include <span>
#include <string>
#include <vector>

namespace firstmow::engine {

class Follower {
public:
    // Every run of the journal that has ended, in any order.
    explicit Follower(std::vector<Cycle> cycles);

    // What came in at `now`. The state must have no valve open; it has none afterwards. With the
    // next step() plans are made.
    void step(const Setup& setup, State& state, const Moment& now, std::span<const Input> inputs);
    // Goes on from a state that was kept at `at`: runs that had ended by then are in it already,
    // and of one that was under way then the whole is taken.
    void go_on_from(State& state, WallTime at);

private:
    void take_runs(const Setup& setup, State& state, const Moment& now);

    std::vector<Cycle> cycles_; // by start
    std::size_t begun_ = 0;
    std::vector<Cycle> running_;
};

// A valve that was open when the journal ended. No zone of that name, or one that is open: nothing.
void found_open(const Setup& setup, State& state, const std::string& zone, std::int64_t id,
                WallTime start, int planned_s, const std::string& reason);

} // namespace firstmow::engine
