#include "relay_server.hpp"

#include <arpa/inet.h>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace firstmow::keeper {

namespace {

void put(Request& request, std::uint16_t port, const std::string& text) {
    const std::uint8_t loopback[4] = {127, 0, 0, 1};
    std::memcpy(request.address, loopback, sizeof loopback);
    request.port = port;
    request.length = static_cast<std::uint16_t>(text.size());
    std::memcpy(request.text, text.data(), text.size());
}

void send_text(int fd, const std::string& text) {
    (void)::send(fd, text.data(), text.size(), MSG_NOSIGNAL);
}

std::string answer(int status, const std::string& body) {
    return "HTTP/1.1 " + std::to_string(status) +
           " Word\r\nServer: test\r\ncontent-length: " + std::to_string(body.size()) + "\r\n\r\n" +
           body;
}

} // namespace

RelayServer::RelayServer() : listener_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in here{};
    here.sin_family = AF_INET;
    here.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    (void)::bind(listener_, reinterpret_cast<sockaddr*>(&here), sizeof here);
    (void)::listen(listener_, 8);
    socklen_t size = sizeof here;
    (void)::getsockname(listener_, reinterpret_cast<sockaddr*>(&here), &size);
    port_ = ntohs(here.sin_port);
    thread_ = std::thread([this] { serve(); });
}

RelayServer::~RelayServer() {
    ends_ = true;
    thread_.join();
    ::close(listener_);
}

Setup RelayServer::setup(bool with_read_back) const {
    Setup setup;
    setup.driver = Driver::http;
    put(setup.open, port_, "PUT /valve HTTP/1.1\r\nContent-Length: 4\r\n\r\nopen");
    put(setup.close, port_, "PUT /valve HTTP/1.1\r\nContent-Length: 6\r\n\r\nclosed");
    if (with_read_back) put(setup.read, port_, "GET /valve HTTP/1.1\r\n\r\n");
    std::snprintf(setup.when_open, sizeof setup.when_open, R"("state":"open")");
    std::snprintf(setup.when_closed, sizeof setup.when_closed, R"("state":"closed")");
    return setup;
}

std::vector<std::string> RelayServer::requests() const {
    const std::lock_guard lock(mutex_);
    return requests_;
}

void RelayServer::serve() {
    while (!ends_) {
        pollfd ready{listener_, POLLIN, 0};
        if (::poll(&ready, 1, 20) <= 0) continue;
        const int fd = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
        if (fd < 0) continue;
        converse(fd);
        ::close(fd);
    }
}

void RelayServer::converse(int fd) {
    std::string text;
    char buffer[512];
    const auto whole = [&] {
        const auto end = text.find("\r\n\r\n");
        if (end == std::string::npos) return false;
        return text.find("GET") == 0 || text.size() > end + 4;
    };
    while (!whole() && !ends_) {
        pollfd ready{fd, POLLIN, 0};
        if (::poll(&ready, 1, 20) <= 0) continue;
        const ssize_t got = ::recv(fd, buffer, sizeof buffer, 0);
        if (got <= 0) return;
        text.append(buffer, static_cast<std::size_t>(got));
    }
    {
        const std::lock_guard lock(mutex_);
        requests_.push_back(text.substr(0, text.find(' ')) +
                            text.substr(text.find("\r\n\r\n") + 4));
    }
    const Manner how = manner;
    const auto gone = [&] {
        pollfd ready{fd, POLLIN, 0};
        return ::poll(&ready, 1, 5) > 0 && ::recv(fd, buffer, 1, MSG_PEEK) <= 0;
    };
    if (how == Manner::hangs_up) return;
    if (how == Manner::slow)
        while (!ends_ && !gone()) {
        }
    if (how == Manner::trickles)
        for (const char c : "HTTP/1.1 200 Good\r\nX: " + std::string(100000, 'x')) {
            if (ends_ || gone()) return;
            send_text(fd, std::string(1, c));
        }
    if (how == Manner::babbles) return send_text(fd, "220 ready to send mail\r\n\r\n");
    if (how == Manner::refuses) return send_text(fd, answer(500, "no"));
    if (text.find("GET") == 0) {
        send_text(fd, answer(200, std::string("{ \"id\": 1,\n  \"state\" : \"") +
                                      (open ? "open" : "closed") + "\" }"));
        if (how == Manner::late) open = ordered_;
        return;
    }
    const bool wanted = text.find("closed") == std::string::npos;
    ordered_ = wanted;
    if (how == Manner::good) open = wanted;
    send_text(fd, answer(200, "done"));
}

} // namespace firstmow::keeper
