// The few calls to the kernel that the line driver makes, so that tests can play the kernel.
#pragma once

namespace firstmow::keeper {

// Results as of the calls of the same names, but failures as a negative errno.
class Kernel {
public:
    virtual ~Kernel() = default;
    virtual int open_device(const char* path) = 0; // read and write, not inherited, no wait
    virtual int control(int fd, unsigned long request, void* argument) = 0;
    // For this program alone; -EBUSY when another one that asked so has it.
    virtual int lock_device(int fd) = 0;
    virtual void close_device(int fd) = 0;
    virtual void pause_ms(int ms) = 0;
};

Kernel& real_kernel();

} // namespace firstmow::keeper
