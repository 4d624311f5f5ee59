#include "keeper/http.hpp"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <netinet/in.h>
#include <poll.h>
#include <strings.h>
#include <sys/socket.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

class Socket {
public:
    Socket() : fd_(::socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0)) {}
    ~Socket() {
        if (fd_ >= 0) ::close(fd_);
    }
    Socket(const Socket&) = delete;
    Socket& operator=(const Socket&) = delete;
    int fd() const { return fd_; }

private:
    int fd_;
};

// 0: ready.
int wait_for(int fd, short events, std::int64_t until_ms) {
    for (;;) {
        const std::int64_t left = until_ms - steady_ms();
        if (left <= 0) return ETIMEDOUT;
        pollfd ready{fd, events, 0};
        const int polled = ::poll(&ready, 1, static_cast<int>(left));
        if (polled > 0) return 0;
        if (polled < 0 && errno != EINTR) return errno;
    }
}

int connect_to(int fd, const Request& request, std::int64_t until_ms) {
    sockaddr_in there{};
    there.sin_family = AF_INET;
    there.sin_port = htons(request.port);
    std::memcpy(&there.sin_addr, request.address, sizeof request.address);
    if (::connect(fd, reinterpret_cast<const sockaddr*>(&there), sizeof there) == 0) return 0;
    if (errno != EINPROGRESS) return errno;
    // Told apart from an answer that does not come: nothing has been asked yet.
    if (const int error = wait_for(fd, POLLOUT, until_ms); error != 0)
        return error == ETIMEDOUT ? EHOSTDOWN : error;
    int error = 0;
    socklen_t size = sizeof error;
    if (::getsockopt(fd, SOL_SOCKET, SO_ERROR, &error, &size) != 0) return errno;
    return error;
}

int send_all(int fd, const Request& request, std::int64_t until_ms) {
    std::size_t sent = 0;
    while (sent < request.length) {
        const ssize_t put =
            ::send(fd, request.text + sent, request.length - sent, MSG_NOSIGNAL | MSG_DONTWAIT);
        if (put > 0) {
            sent += static_cast<std::size_t>(put);
            continue;
        }
        if (errno != EAGAIN && errno != EINTR) return errno;
        if (const int error = wait_for(fd, POLLOUT, until_ms); error != 0) return error;
    }
    return 0;
}

bool is_white(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

// Whether `text` holds `sign`, white space of either aside.
bool holds(const char* text, const char* sign) {
    for (; *text != '\0'; ++text) {
        const char* t = text;
        const char* s = sign;
        for (;;) {
            while (is_white(*s))
                ++s;
            while (is_white(*t))
                ++t;
            if (*s == '\0') return true;
            if (*s != *t) break;
            ++s;
            ++t;
        }
    }
    return false;
}

const char* body_of(const char* text) {
    const char* const end = std::strstr(text, "\r\n\r\n");
    return end == nullptr ? nullptr : end + 4;
}

} // namespace

void HttpBus::settle(Kernel& kernel, const Share& share) {
    kernel_ = &kernel;
    share_ = share;
}

// The header is there, and all of the body that was promised; without a promise the end tells.
bool HttpBus::is_whole() const {
    const char* const body = body_of(text_.data());
    if (body == nullptr) return false;
    for (const char* line = std::strstr(text_.data(), "\r\n"); line != nullptr && line + 2 < body;
         line = std::strstr(line + 2, "\r\n")) {
        constexpr char kLength[] = "content-length:";
        if (::strncasecmp(line + 2, kLength, sizeof kLength - 1) != 0) continue;
        const long length = std::strtol(line + 2 + sizeof kLength - 1, nullptr, 10);
        const auto have = size_ - static_cast<std::size_t>(body - text_.data());
        return length >= 0 && have >= static_cast<std::size_t>(length);
    }
    return std::strncmp(text_.data() + 8, " 204", 4) == 0;
}

int HttpBus::receive(int fd, std::int64_t until_ms) {
    size_ = 0;
    text_[0] = '\0';
    for (;;) {
        if (const int error = wait_for(fd, POLLIN, until_ms); error != 0)
            return error == ETIMEDOUT && body_of(text_.data()) != nullptr ? 0 : error;
        const std::size_t room = text_.size() - 1 - size_;
        const ssize_t got = ::recv(fd, text_.data() + size_, room, MSG_DONTWAIT);
        if (got < 0 && (errno == EAGAIN || errno == EINTR)) continue;
        if (got < 0) return errno;
        if (got == 0) return size_ == 0 ? ECONNRESET : 0;
        // A zero would end the text before its time.
        for (std::size_t i = size_; i < size_ + static_cast<std::size_t>(got); ++i)
            if (text_[i] == '\0') text_[i] = '?';
        size_ += static_cast<std::size_t>(got);
        text_[size_] = '\0';
        if (is_whole() || size_ == text_.size() - 1) return 0;
    }
}

int HttpBus::exchange(const Request& request) {
    const std::int64_t until_ms = steady_ms() + kExchange_ms;
    const Socket socket;
    if (socket.fd() < 0) return errno;
    if (const int error = connect_to(socket.fd(), request, until_ms); error != 0) return error;
    // From here on the relay may have heard; only a late answer is told apart.
    int error = send_all(socket.fd(), request, until_ms);
    if (error == 0) error = receive(socket.fd(), until_ms);
    if (error != 0) return error == ETIMEDOUT ? error : ECONNRESET;
    if (std::strncmp(text_.data(), "HTTP/1.", 7) != 0 || body_of(text_.data()) == nullptr)
        return EBADMSG;
    const bool good = std::strlen(text_.data()) > 9 && text_[8] == ' ' && text_[9] == '2';
    return good ? 0 : EPROTO;
}

int HttpBus::look(const Setup& setup, bool& open) {
    if (const int error = exchange(setup.read); error != 0) return error;
    const char* const body = body_of(text_.data());
    const bool says_open = holds(body, setup.when_open);
    if (says_open == holds(body, setup.when_closed)) return EBADMSG;
    open = says_open;
    return 0;
}

int HttpBus::set(std::size_t channel, bool open) {
    const Setup& setup = share_.of(channel);
    if (const int error = exchange(open ? setup.open : setup.close); error != 0) return error;
    if (setup.read.length == 0) return 0;
    for (int i = 0; i < 2; ++i) {
        // Some answer before the relay has moved.
        if (i > 0) kernel_->pause_ms(kPause_ms);
        bool is_open = !open;
        if (look(setup, is_open) == 0 && is_open == open) return 0;
    }
    return EREMOTEIO;
}

int HttpBus::read(std::size_t channel, bool& open) {
    const Setup& setup = share_.of(channel);
    if (setup.read.length == 0) return ENOSYS;
    const int error = look(setup, open);
    return error == 0 ? 0 : look(setup, open);
}

} // namespace firstmow::keeper
