// Carries letters to the addresses of the garden file, on a thread of its own.
//
// Each address has a queue of its own, so that one that is down holds up no other. A letter that
// cannot be handed over is tried again, ever later, for about a day. Queues are bounded: the
// oldest letter goes. What waits stands in a file of the state folder and outlives the daemon.
#pragma once

#include "garden/reach.hpp"
#include "messenger/letter.hpp"

#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace firstmow::messenger {

struct Pace {
    std::chrono::milliseconds one_try{10'000};   // from the connection to the answer
    std::chrono::milliseconds first_wait{5'000}; // doubles with each try,
    std::chrono::milliseconds longest_wait{
        1'800'000};         // up to this; each is shortened by up to half
    int tries = 56;         // in all: about a day
    std::size_t queue = 64; // letters for one address
};

class Messenger {
public:
    // Takes up what waits in `file`. `told` hears, on the messenger's thread, of what did not
    // arrive, in a sentence; it may be called until the program ends.
    Messenger(std::string file, std::vector<garden::Address> addresses,
              std::function<void(const std::string&)> told, Pace pace = {});
    ~Messenger(); // stop()s
    Messenger(const Messenger&) = delete;
    Messenger& operator=(const Messenger&) = delete;

    // Never waits. A letter of a topic that nobody asked for goes nowhere.
    void give(Letter letter);
    // Other addresses from now on. What waits for one that stays is kept; one that was gone is
    // asked again.
    void set_addresses(std::vector<garden::Address> addresses);
    // Ends within a moment: a try under way is broken off. What waits is written down.
    void stop();

    std::size_t waiting() const;

private:
    struct Impl;
    std::shared_ptr<Impl> impl_; // shared with the thread: a look-up of a name cannot be broken off
};

} // namespace firstmow::messenger
