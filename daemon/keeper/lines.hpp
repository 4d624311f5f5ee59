// What the keeper's rules see of hardware: numbered lines that open and close valves.
#pragma once

#include <cstddef>

namespace firstmow::keeper {

// In place of an errno: the line does not read back as it was set (EREMOTEIO), this line cannot
// be read back (ENOSYS), the chip has gone away (ENODEV). None of the calls waits for a device that
// takes its time: set() of such a line answers EINPROGRESS, settled() says what became of it, and
// read() says what was last seen, or EAGAIN where nothing was.
class Lines {
public:
    virtual ~Lines() = default;
    virtual std::size_t count() const = 0;
    // Takes hold of the devices, every line closed. What could not be had fails in set().
    virtual void take() = 0;
    // 0, or an errno.
    virtual int set(std::size_t channel, bool open) = 0;
    virtual int read(std::size_t channel, bool& open) = 0;
    // A line whose last order is done, with 0 or an errno; each is named once. False: none.
    virtual bool settled(std::size_t& channel, int& error) = 0;
};

} // namespace firstmow::keeper
