#include "keeper/kernel.hpp"

#include <cerrno>
#include <ctime>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

class RealKernel : public Kernel {
public:
    int open_device(const char* path) override {
        const int fd = ::open(path, O_RDWR | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
        return fd < 0 ? -errno : fd;
    }
    int control(int fd, unsigned long request, void* argument) override {
        const int got = ::ioctl(fd, request, argument);
        return got < 0 ? -errno : got;
    }
    int lock_device(int fd) override {
        if (::flock(fd, LOCK_EX | LOCK_NB) == 0) return 0;
        return errno == EWOULDBLOCK ? -EBUSY : -errno;
    }
    void close_device(int fd) override { ::close(fd); }
    void pause_ms(int ms) override {
        const timespec span{ms / 1000, (ms % 1000) * 1'000'000L};
        (void)::nanosleep(&span, nullptr);
    }
};

} // namespace

Kernel& real_kernel() {
    static RealKernel kernel;
    return kernel;
}

} // namespace firstmow::keeper
