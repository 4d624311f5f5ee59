// A daemon with a valve open, and the means to harm it and its keeper.
#pragma once

#include "running.hpp"

#include <string>
#include <vector>

namespace firstmow::process {

// How often each harm is done: FIRSTMOW_FAULT_ROUNDS, or a few.
int rounds(int usual);
// A moment at random, up to `most_ms` from now; the numbers differ from run to run.
void wait_a_moment(int most_ms);
// The clock of the valve file, in seconds.
double boot_s();

// Programs by name whose parent is `parent`; of any parent when it is 0.
std::vector<int> processes(const std::string& name, int parent = 0);
bool lives(int pid);

class Ward {
public:
    Ward();
    ~Ward(); // nothing of it runs on

    bool start() { return house.start(); }
    // Water for the zone "bed", channel 2; true when the valve file says so.
    bool open();
    int daemon_pid() const;
    // 0: there is none.
    int keeper_pid() const;
    // The last that the valve file says of the channel: "open" or "closed", and when.
    struct Entry {
        double time_s = 0;
        std::string state;
    };
    Entry last(const std::string& channel = "2") const;
    // Seconds from `since_s` until the valve was closed for good; a large number when it is not
    // within `most_s`.
    double closed_after(double since_s, int most_s) const;

    House house;
};

} // namespace firstmow::process
