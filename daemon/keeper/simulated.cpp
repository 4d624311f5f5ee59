#include "keeper/simulated.hpp"

#include <cerrno>
#include <cstdio>
#include <ctime>
#include <fcntl.h>
#include <unistd.h>

namespace firstmow::keeper {

int write_valve_line(const char* path, int number, bool open) {
    if (path[0] == '\0') return 0;
    timespec t{};
    ::clock_gettime(CLOCK_BOOTTIME, &t);
    char line[64];
    const int length =
        std::snprintf(line, sizeof line, "%lld.%03ld %d %s\n", static_cast<long long>(t.tv_sec),
                      t.tv_nsec / 1'000'000, number, open ? "open" : "closed");
    const int fd = ::open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
    if (fd < 0) return errno;
    const ssize_t put = ::write(fd, line, static_cast<std::size_t>(length));
    const int fault = errno;
    ::close(fd);
    if (put < 0) return fault;
    return put == length ? 0 : ENOSPC;
}

} // namespace firstmow::keeper
