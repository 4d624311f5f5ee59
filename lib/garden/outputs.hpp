// Outputs of a garden, each of which belongs to one user. Internal to the room.
#pragma once

#include "garden/sections.hpp"

#include <map>
#include <string>
#include <utility>

namespace firstmow::garden {

// Channels of a driver, lines of a chip, coils of a board and the like are each used once; an
// expander is one kind of chip, and a serial port has one set of settings.
class Outputs {
public:
    explicit Outputs(Errors& errors) : errors_(errors) {}

    // `user` for messages: `zone "front"`. `valve` outlives this.
    void refuse_twin(const Valve& valve, const ValveSpots& at, const std::string& user);

private:
    void refuse_mixture(const Valve& valve, Spot at);

    std::map<std::pair<std::string, int>, std::string> user_of_channel_;
    std::map<std::string, std::string> user_of_outlet_;
    std::map<std::string, const Valve*> first_of_device_;
    Errors& errors_;
};

} // namespace firstmow::garden
