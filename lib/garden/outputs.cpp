#include "garden/outputs.hpp"

#include "garden/wording.hpp"

namespace firstmow::garden {

void Outputs::refuse_twin(const Valve& valve, const ValveSpots& at, const std::string& user) {
    for (const ValveSpots::Outlet& outlet : at.outlets) {
        const auto [seen, fresh] = user_of_outlet_.emplace(outlet.words, user);
        if (!fresh)
            errors_.add(outlet.spot, outlet.words + " is taken by " + seen->second + "; a " +
                                         outlet.kind + " of its own would be right");
    }
    if (!at.channel || valve.driver.empty()) return;
    refuse_mixture(valve, *at.channel);
    const auto [seen, fresh] =
        user_of_channel_.emplace(std::pair{valve.driver, valve.channel}, user);
    if (!fresh)
        errors_.add(*at.channel, "channel " + std::to_string(valve.channel) + " of driver " +
                                     in_quotes(valve.driver) + " is taken by " + seen->second +
                                     "; a channel of its own would be right");
}

void Outputs::refuse_mixture(const Valve& valve, Spot at) {
    std::string device = valve.port;
    if (!valve.bus.empty() && valve.address != 0)
        device = valve.bus + " address " + std::to_string(valve.address);
    if (device.empty()) return;
    const auto [seen, fresh] = first_of_device_.emplace(device, &valve);
    const Valve& first = *seen->second;
    if (fresh) return;
    if (first.driver != valve.driver)
        errors_.add(at, device + " has two drivers, " + in_quotes(first.driver) + " and " +
                            in_quotes(valve.driver) + "; one kind of chip would be right");
    else if (first.baud != valve.baud || first.parity != valve.parity ||
             first.stop_bits != valve.stop_bits)
        errors_.add(at, device + " has two sets of baud, parity and stop_bits; the same for all "
                                 "of its valves would be right");
}

} // namespace firstmow::garden
