// What happens in the garden reaches the program that asked to be told.
#include "../running.hpp"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include <arpa/inet.h>
#include <csignal>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace firstmow::process {

namespace {

// Takes one letter at a time.
class LetterBox {
public:
    LetterBox() : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        socklen_t size = sizeof address;
        REQUIRE(::bind(socket_, reinterpret_cast<sockaddr*>(&address), size) == 0);
        REQUIRE(::listen(socket_, 16) == 0);
        REQUIRE(::getsockname(socket_, reinterpret_cast<sockaddr*>(&address), &size) == 0);
        port_ = ntohs(address.sin_port);
    }
    ~LetterBox() { ::close(socket_); }
    LetterBox(const LetterBox&) = delete;
    LetterBox& operator=(const LetterBox&) = delete;
    int port() const { return port_; }

    // The body of the next letter, answered with `status`; "" when none comes.
    std::string next(const std::string& status) const {
        pollfd ready{socket_, POLLIN, 0};
        if (::poll(&ready, 1, 30'000) <= 0) return "";
        const int peer = ::accept(socket_, nullptr, nullptr);
        std::string text;
        char buffer[4096];
        for (;;) {
            const auto body = text.find("\r\n\r\n");
            if (body != std::string::npos && text.ends_with('}')) {
                const std::string reply =
                    "HTTP/1.1 " + status + "\r\nContent-Length: 0\r\nConnection: close\r\n\r\n";
                (void)::send(peer, reply.data(), reply.size(), MSG_NOSIGNAL);
                ::close(peer);
                return text.substr(body + 4);
            }
            const ssize_t got = ::recv(peer, buffer, sizeof buffer, 0);
            if (got <= 0) break;
            text.append(buffer, static_cast<std::size_t>(got));
        }
        ::close(peer);
        return "";
    }

private:
    int socket_;
    int port_ = 0;
};

} // namespace

TEST_CASE("a bed that will be too dry is told of, again after a failure, and after a restart") {
    // Sown today, and no water is allowed for hours.
    GardenSpec spec;
    spec.timezone = "Etc/UTC";
    spec.hours = hours_far_from_now();
    spec.start = today();
    House house(spec);
    const LetterBox box;
    append(house.garden(), "[[tell]]\nurl = \"http://127.0.0.1:" + std::to_string(box.port()) +
                               "/lawn\"\nabout = [\"dry_risk\"]\n");
    REQUIRE(house.start());
    const std::string first = box.next("500 Not now");
    REQUIRE_MESSAGE(!first.empty(), house.log());
    CHECK_EQ(house.end(), 0); // before it is tried again
    REQUIRE(house.start());
    const std::string again = box.next("200 OK");
    CHECK_EQ(again, first);
    const auto letter = nlohmann::json::parse(again, nullptr, false);
    REQUIRE(letter.is_object());
    CHECK_EQ(letter["topic"], "dry_risk");
    CHECK_EQ(letter["garden"], spec.name);
    CHECK_MESSAGE(has(letter["text"].get<std::string>(), "too dry"), again);
    CHECK(eventually([&] { return !exists(house.state() + "/letters.json"); }));
    CHECK_EQ(house.end(), 0);
}

} // namespace firstmow::process
