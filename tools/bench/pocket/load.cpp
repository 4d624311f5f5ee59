#include "load.hpp"

#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <string_view>

namespace firstmow::bench {
namespace {

using Clock = std::chrono::steady_clock;

int connect_to(int port) {
    const int made = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const int on = 1;
    (void)::setsockopt(made, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(made, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0) return made;
    ::close(made);
    return -1;
}

struct Client {
    int socket = -1;
    std::string head;     // of the answer, as far as it has come
    std::size_t left = 0; // of its body
    bool in_body = false;
    bool asked = false;
    Clock::time_point ask_at{};
};

// The length that the head tells, and its status.
std::size_t read_head(const std::string& head, int& status) {
    status = std::atoi(head.c_str() + 9);
    const auto at = head.find("Content-Length: ");
    return at == std::string::npos ? 0
                                   : static_cast<std::size_t>(std::atol(head.c_str() + at + 16));
}

// Takes what has come; true when the answer is whole. `bytes` is then its length.
enum class Took { some, whole, lost };
Took take(Client& client, std::size_t& bytes, int& status) {
    static thread_local char buffer[256 * 1024];
    const ssize_t got = ::recv(client.socket, buffer, sizeof buffer, MSG_DONTWAIT);
    if (got <= 0) return Took::lost;
    std::size_t size = static_cast<std::size_t>(got);
    if (!client.in_body) {
        client.head.append(buffer, size);
        const auto end = client.head.find("\r\n\r\n");
        if (end == std::string::npos) return Took::some;
        client.left = read_head(client.head, status);
        bytes = end + 4 + client.left;
        size = client.head.size() - end - 4;
        client.in_body = true;
        client.head.clear();
    }
    client.left -= std::min(client.left, size);
    if (client.left > 0) return Took::some;
    client.in_body = false;
    return Took::whole;
}

} // namespace

Thumb::Thumb(int port, const std::string& key)
    : head_(" HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nAuthorization: "
            "Bearer " +
            key + "\r\nContent-Length: "),
      socket_(connect_to(port)) {}

Thumb::~Thumb() {
    if (socket_ >= 0) ::close(socket_);
}

int Thumb::order(const std::string& path, const std::string& body) {
    const std::string text =
        "POST " + path + head_ + std::to_string(body.size()) + "\r\n\r\n" + body;
    if (::send(socket_, text.data(), text.size(), MSG_NOSIGNAL) < 0) return 0;
    Client client;
    client.socket = socket_;
    std::size_t bytes = 0;
    int status = 0;
    for (;;) {
        pollfd ready{socket_, POLLIN, 0};
        if (::poll(&ready, 1, 10'000) <= 0) return 0;
        const Took took = take(client, bytes, status);
        if (took == Took::lost) return 0;
        if (took == Took::whole) return status;
    }
}

std::string get(const std::string& path, const std::string& headers) {
    return "GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n" + headers + "\r\n";
}

Rate ask_on(int port, const std::string& request, int connections, double seconds, double pause_s,
            const std::atomic<bool>* ends) {
    const auto start = Clock::now();
    const auto until =
        start + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(seconds));
    const auto pause =
        std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(pause_s));
    std::vector<Client> clients(static_cast<std::size_t>(connections));
    std::vector<pollfd> ready(clients.size());
    Rate rate;
    for (std::size_t i = 0; i < clients.size(); ++i) // not all in one instant
        clients[i].ask_at = start + pause * static_cast<long>(i) / connections;
    for (auto now = start; now < until && !(ends && *ends); now = Clock::now()) {
        for (std::size_t i = 0; i < clients.size(); ++i) {
            Client& client = clients[i];
            if (client.socket < 0) client.socket = connect_to(port);
            if (!client.asked && now >= client.ask_at)
                client.asked = ::send(client.socket, request.data(), request.size(),
                                      MSG_NOSIGNAL) == static_cast<ssize_t>(request.size());
            ready[i] = {client.socket, POLLIN, 0};
        }
        if (::poll(ready.data(), ready.size(), pause_s > 0 ? 1 : 100) <= 0) continue;
        for (std::size_t i = 0; i < clients.size(); ++i) {
            if (ready[i].revents == 0) continue;
            const Took took = take(clients[i], rate.bytes, rate.status);
            if (took == Took::some) continue;
            clients[i].asked = false;
            if (took == Took::whole) {
                ++rate.answers;
                clients[i].ask_at = now + pause;
                continue;
            }
            ++rate.failed;
            ::close(clients[i].socket);
            clients[i] = {};
        }
    }
    for (const Client& client : clients)
        if (client.socket >= 0) ::close(client.socket);
    rate.per_s = rate.answers / std::chrono::duration<double>(Clock::now() - start).count();
    return rate;
}

} // namespace firstmow::bench
