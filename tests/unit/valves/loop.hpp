// An event loop to turn by hand, a fresh folder for valve files, and zones with valves.
#pragma once

#include "valves/switchboard.hpp"

#include <memory>
#include <string>
#include <vector>

namespace firstmow::valves {

class Bench {
public:
    Bench();
    ~Bench();

    std::string garden() const { return folder + "/garden.toml"; }
    // The changes in the valve file, without their times: "1 open", ...
    std::vector<std::string> changes(const std::string& file = "valves.log") const;
    // Starts a switchboard over zones whose valves write to these files; channels from 1, ids "a",
    // "b", ...
    Result<std::unique_ptr<Switchboard>> board(const std::vector<std::string>& files);
    // ... over these valves.
    Result<std::unique_ptr<Switchboard>> board_of(const std::vector<garden::Valve>& valves);
    // Turns the loop until `count` reports have come, at most ten seconds.
    bool hear(std::size_t count);
    // Turns the loop for what is ready, without waiting.
    void poll();

    std::string folder;
    std::string keeper_program; // empty: the real one
    std::vector<engine::ValveReport> reports;

private:
    struct Loop;
    std::unique_ptr<Loop> loop_;
};

garden::Valve valve(int channel, const std::string& file);

} // namespace firstmow::valves
