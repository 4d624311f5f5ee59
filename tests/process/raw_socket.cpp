#include "raw_socket.hpp"

#include <arpa/inet.h>
#include <chrono>
#include <netinet/in.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

namespace firstmow::process {

namespace {

// Waits for bytes until then; fewer than 0: nothing came in time.
ssize_t next(int socket, char* buffer, std::size_t size,
             std::chrono::steady_clock::time_point until) {
    const auto left =
        std::chrono::ceil<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
    if (left.count() <= 0) return -1;
    pollfd ready{socket, POLLIN, 0};
    if (::poll(&ready, 1, static_cast<int>(left.count())) <= 0) return -1;
    const ssize_t got = ::recv(socket, buffer, size, 0);
    return got < 0 ? 0 : got; // reset by the other end
}

std::chrono::steady_clock::time_point in(int seconds) {
    return std::chrono::steady_clock::now() + std::chrono::seconds(seconds);
}

} // namespace

RawSocket::RawSocket(int port, bool deaf)
    : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    if (deaf) {
        const int bytes = 1024;
        (void)::setsockopt(socket_, SOL_SOCKET, SO_RCVBUF, &bytes, sizeof bytes);
    }
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    (void)::connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address);
}

RawSocket::~RawSocket() {
    if (socket_ >= 0) ::close(socket_);
}

bool RawSocket::send(const std::string& text) const {
    return ::send(socket_, text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT) ==
           static_cast<ssize_t>(text.size());
}

std::string RawSocket::receive(int seconds) const {
    const auto until = in(seconds);
    std::string all;
    char buffer[4096];
    for (ssize_t got = 0; (got = next(socket_, buffer, sizeof buffer, until)) > 0;)
        all.append(buffer, static_cast<std::size_t>(got));
    return all;
}

bool RawSocket::closed(int seconds) const {
    const auto until = in(seconds);
    char buffer[4096];
    for (;;) {
        const ssize_t got = next(socket_, buffer, sizeof buffer, until);
        if (got <= 0) return got == 0;
    }
}

void allow_many_sockets() {
    rlimit limit{};
    if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
    limit.rlim_cur = limit.rlim_max;
    (void)::setrlimit(RLIMIT_NOFILE, &limit);
}

} // namespace firstmow::process
