#include "keeper/post.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <poll.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

volatile std::sig_atomic_t end_asked = 0;

void ask_for_end(int) {
    end_asked = 1;
}

// Whatever the daemon had open when it started us: its listening socket must not outlive it here.
void close_the_rest() {
    constexpr unsigned kFirst = kSocket + 1;
    if (::syscall(SYS_close_range, kFirst, ~0U, 0) == 0) return;
    for (unsigned fd = kFirst; fd < 4096; ++fd)
        ::close(static_cast<int>(fd));
}

void set_up_signals() {
    struct sigaction action {};
    action.sa_handler = ask_for_end;
    ::sigaction(SIGTERM, &action, nullptr);
    // A terminal's Ctrl-C reaches the whole group; what ends is for the daemon to say.
    action.sa_handler = SIG_IGN;
    for (const int number : {SIGINT, SIGHUP, SIGQUIT, SIGPIPE, SIGUSR1, SIGUSR2, SIGALRM})
        ::sigaction(number, &action, nullptr);
}

} // namespace

std::int64_t boot_ms() {
    timespec t{};
    ::clock_gettime(CLOCK_BOOTTIME, &t);
    return static_cast<std::int64_t>(t.tv_sec) * 1000 + t.tv_nsec / 1'000'000;
}

void say(const char* what, int error) {
    char line[256];
    int length = 0;
    if (error == 0)
        length = std::snprintf(line, sizeof line, "firstmow-keeper: %s\n", what);
    else
        length = std::snprintf(line, sizeof line, "firstmow-keeper: %s (errno %d)\n", what, error);
    length = std::min(length, static_cast<int>(sizeof line) - 1);
    if (::write(STDERR_FILENO, line, static_cast<std::size_t>(length)) < 0) return;
}

bool settle(int parent, int socket) {
    set_up_signals();
    if (socket != kSocket && ::dup2(socket, kSocket) != kSocket) return false;
    close_the_rest();
    // Second to the socket, whose end is the first sign that the daemon died.
    ::prctl(PR_SET_PDEATHSIG, SIGTERM);
    ::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    const rlimit none{0, 0};
    ::setrlimit(RLIMIT_CORE, &none); // a dump would only delay the end
    if (::mlockall(MCL_CURRENT | MCL_FUTURE) != 0)
        say("its memory could not be locked; on a machine that swaps it may be late", errno);
    return ::getppid() == parent;
}

bool told_to_end() {
    return end_asked != 0;
}

Heard wait_for(void* buffer, std::size_t room, std::size_t& size, std::int64_t until_ms, int wake) {
    pollfd ready[2] = {{kSocket, POLLIN, 0}, {wake, POLLIN, 0}};
    const auto wait = std::clamp<std::int64_t>(until_ms - boot_ms(), 0, kLongestSleep_ms);
    const int polled = ::poll(ready, 2, static_cast<int>(wait));
    if (polled <= 0 || ready[0].revents == 0)
        return Heard::nothing; // a signal too: the caller looks
    const ssize_t got = ::recv(kSocket, buffer, room, MSG_DONTWAIT | MSG_TRUNC);
    if (got > 0) {
        size = static_cast<std::size_t>(got);
        return Heard::message;
    }
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) return Heard::nothing;
    return Heard::gone;
}

void send(const Reply& reply) {
    (void)::send(kSocket, &reply, sizeof reply, MSG_DONTWAIT | MSG_NOSIGNAL);
}

} // namespace firstmow::keeper
