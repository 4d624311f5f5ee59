#include "valves/keeper_process.hpp"

#include "host/clocks.hpp"

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <ctime>
#include <fcntl.h>
#include <poll.h>
#include <spawn.h>
#include <string>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>

namespace firstmow::valves {

namespace {

Result<std::string> keeper_program() {
    std::array<char, 4096> path{};
    const ssize_t length = ::readlink("/proc/self/exe", path.data(), path.size());
    if (length <= 0) return Error{std::string("/proc/self/exe: ") + std::strerror(errno)};
    const std::string self(path.data(), static_cast<std::size_t>(length));
    return self.substr(0, self.rfind('/')) + "/firstmow-keeper";
}

int spawn(const std::string& program, int socket, pid_t& pid) {
    posix_spawnattr_t attributes;
    ::posix_spawnattr_init(&attributes);
    sigset_t none;
    sigset_t all;
    ::sigemptyset(&none);
    ::sigfillset(&all);
    ::posix_spawnattr_setsigmask(&attributes, &none);
    ::posix_spawnattr_setsigdefault(&attributes, &all);
    ::posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    std::string name = "firstmow-keeper";
    std::string parent = std::to_string(::getpid());
    std::string end = std::to_string(socket);
    char* const arguments[] = {name.data(), parent.data(), end.data(), nullptr};
    char* const environment[] = {nullptr};
    // Inherited under its number: a file action would need a free descriptor, or one below the
    // limit. Nothing else is started by the daemon meanwhile.
    int fault = ::fcntl(socket, F_SETFD, 0) == 0 ? 0 : errno;
    if (fault == 0)
        fault = ::posix_spawn(&pid, program.c_str(), nullptr, &attributes, arguments, environment);
    ::posix_spawnattr_destroy(&attributes);
    return fault;
}

void pause_ms(int ms) {
    const timespec span{0, ms * 1'000'000L};
    (void)::nanosleep(&span, nullptr);
}

} // namespace

Result<SocketPair> SocketPair::make() {
    int ends[2] = {-1, -1};
    if (::socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, ends) != 0)
        return Error{std::string("no socket for the valve keeper: ") + std::strerror(errno)};
    return SocketPair(ends[0], ends[1]);
}

SocketPair::SocketPair(SocketPair&& other) noexcept
    : ours_(std::exchange(other.ours_, -1)), theirs_(std::exchange(other.theirs_, -1)) {}

SocketPair& SocketPair::operator=(SocketPair&& other) noexcept {
    std::swap(ours_, other.ours_);
    std::swap(theirs_, other.theirs_);
    return *this;
}

SocketPair::~SocketPair() {
    if (ours_ >= 0) ::close(ours_);
    if (theirs_ >= 0) ::close(theirs_);
}

int SocketPair::take_ours() {
    return std::exchange(ours_, -1);
}

Result<std::unique_ptr<KeeperProcess>> KeeperProcess::start(SocketPair sockets,
                                                            const std::string& named) {
    const Result<std::string> program = named.empty() ? keeper_program() : named;
    if (!program) return program.error();
    pid_t pid = -1;
    if (const int fault = spawn(*program, sockets.theirs(), pid); fault != 0)
        return Error{*program + ": " + std::strerror(fault) +
                     "; the valve keeper beside the daemon would be right"};
    return std::unique_ptr<KeeperProcess>(new KeeperProcess(sockets.take_ours(), pid));
}

KeeperProcess::~KeeperProcess() {
    if (!reap()) ::kill(pid_, SIGKILL);
    ::close(socket_);
    // Its lines are free only when it is gone. What hangs in the kernel is left behind.
    for (int i = 0; i < 200 && !reap(); ++i)
        pause_ms(5);
}

bool KeeperProcess::reap() {
    if (!ended_) ended_ = ::waitpid(pid_, &status_, WNOHANG) != 0;
    return ended_;
}

bool KeeperProcess::wait_for_end(Millis limit) {
    const MonoTime until = host::mono_now() + limit;
    while (!reap() && host::mono_now() < until)
        pause_ms(2);
    return ended_ && status_ == 0;
}

KeeperProcess::Heard KeeperProcess::receive(keeper::Reply& reply) {
    if (gone_) return Heard::gone;
    const ssize_t got = ::recv(socket_, &reply, sizeof reply, MSG_DONTWAIT);
    if (got == static_cast<ssize_t>(sizeof reply) && reply.version == keeper::kVersion)
        return Heard::reply;
    if (got < 0 && (errno == EAGAIN || errno == EINTR)) return Heard::nothing;
    gone_ = true; // nonsense is no better than an end
    return Heard::gone;
}

KeeperProcess::Heard KeeperProcess::hear(keeper::Reply& reply) {
    if (unread_.empty()) return receive(reply);
    reply = unread_.front();
    unread_.pop_front();
    return Heard::reply;
}

bool KeeperProcess::beat() {
    keeper::Order order;
    order.ask = keeper::Ask::beat;
    order.sequence = ++sequence_;
    const ssize_t put = ::send(socket_, &order, sizeof order, MSG_DONTWAIT | MSG_NOSIGNAL);
    // A full queue is for whoever counts the answers.
    return put == static_cast<ssize_t>(sizeof order) || errno == EAGAIN || errno == EINTR;
}

std::optional<keeper::Reply> KeeperProcess::exchange(const void* message, std::size_t size,
                                                     std::uint32_t sequence, Millis limit) {
    const MonoTime until = host::mono_now() + limit;
    bool sent = false;
    for (;;) {
        if (!sent) {
            const ssize_t put = ::send(socket_, message, size, MSG_DONTWAIT | MSG_NOSIGNAL);
            sent = put == static_cast<ssize_t>(size);
            if (!sent && errno != EAGAIN && errno != EINTR) return std::nullopt;
        }
        const Millis left = until - host::mono_now();
        if (left <= Millis{0}) return std::nullopt;
        pollfd ready{socket_, static_cast<short>(sent ? POLLIN : POLLIN | POLLOUT), 0};
        (void)::poll(&ready, 1, static_cast<int>(left.count()));
        keeper::Reply reply;
        const Heard heard = receive(reply);
        if (heard == Heard::gone) return std::nullopt;
        if (heard == Heard::nothing) continue;
        if (reply.sequence == sequence) return reply;
        unread_.push_back(reply);
    }
}

std::optional<keeper::Reply> KeeperProcess::ask(keeper::Order order, Millis limit) {
    order.sequence = ++sequence_;
    return exchange(&order, sizeof order, order.sequence, limit);
}

std::optional<keeper::Reply> KeeperProcess::ask(const keeper::Setup& setup, Millis limit) {
    keeper::Setup numbered = setup;
    numbered.order.sequence = ++sequence_;
    return exchange(&numbered, sizeof numbered, numbered.order.sequence, limit);
}

} // namespace firstmow::valves
