#include "serving.hpp"

#include <utility>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>

#include <arpa/inet.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <future>
#include <thread>

namespace firstmow::http {

struct Serving::Parts {
    boost::asio::io_context io{1};
    boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work{
        io.get_executor()};
    FakeBackend backend{parse_iso8601("2026-08-30T18:20:00Z").value()};
    std::unique_ptr<HttpServer> server;
    std::thread thread;
    std::string folder;
};

Serving::Serving(Limits limits, AccessSettings access) : parts_(std::make_unique<Parts>()) {
    plant_garden(parts_->backend);
    parts_->folder = (std::filesystem::temp_directory_path() / "firstmow-http-XXXXXX").string();
    if (mkdtemp(parts_->folder.data()) == nullptr) std::abort();
    access.folder = parts_->folder;
    parts_->server =
        std::make_unique<HttpServer>(parts_->io, parts_->backend, std::move(access), limits);
    port_ = parts_->server->listen("127.0.0.1", 0).value();
    parts_->backend.changed_ = [this] { parts_->server->publish(); };
    parts_->thread = std::thread([this] { parts_->io.run(); });
}

Serving::~Serving() {
    on_loop([this](FakeBackend& backend, HttpServer&) {
        backend.changed_ = nullptr;
        parts_->server.reset();
        parts_->work.reset();
        parts_->io.stop();
    });
    parts_->thread.join();
    std::error_code ignored;
    std::filesystem::remove_all(parts_->folder, ignored);
}

access::Book Serving::book() const {
    return access::Book(parts_->folder);
}

FakeBackend& Serving::backend() {
    return parts_->backend;
}

void Serving::on_loop(const std::function<void(FakeBackend&, HttpServer&)>& what) {
    std::promise<void> done;
    boost::asio::post(parts_->io, [&] {
        what(parts_->backend, *parts_->server);
        done.set_value();
    });
    done.get_future().wait();
}

Result<std::uint16_t> Serving::listen_again(std::uint16_t port) {
    Result<std::uint16_t> result = Error{};
    on_loop([&](FakeBackend& backend, HttpServer&) {
        HttpServer second(parts_->io, backend, AccessSettings{});
        result = second.listen("127.0.0.1", port);
    });
    return result;
}

BareSocket::BareSocket(std::uint16_t port) : socket_(socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(port);
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0) {
        close(socket_);
        socket_ = -1;
    }
}

BareSocket::~BareSocket() {
    if (socket_ >= 0) close(socket_);
}

bool BareSocket::send(const std::string& text) {
    std::size_t sent = 0;
    while (sent < text.size()) {
        const ssize_t n = ::send(socket_, text.data() + sent, text.size() - sent, MSG_NOSIGNAL);
        if (n <= 0) return false;
        sent += static_cast<std::size_t>(n);
    }
    return true;
}

std::string BareSocket::receive(const std::string& until) {
    char buffer[4096];
    while (until.empty() || received_.find(until) == std::string::npos) {
        pollfd ready{socket_, POLLIN, 0};
        if (poll(&ready, 1, 10'000) <= 0) break;
        const ssize_t n = recv(socket_, buffer, sizeof buffer, 0);
        if (n <= 0) break;
        received_.append(buffer, static_cast<std::size_t>(n));
    }
    return std::exchange(received_, {});
}

bool BareSocket::closed() {
    char buffer[4096];
    for (;;) {
        pollfd ready{socket_, POLLIN, 0};
        if (poll(&ready, 1, 10'000) <= 0) return false;
        if (recv(socket_, buffer, sizeof buffer, 0) <= 0) return true;
    }
}

} // namespace firstmow::http
