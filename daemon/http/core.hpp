// Inside of the room: what all connections share. Takes them in, keeps them few, and has their
// requests answered by the App.
#pragma once

#include "base/result.hpp"
#include "http/app.hpp"
#include "http/connection.hpp"
#include "http/event_stream.hpp"
#include "http/limits.hpp"

#include <cstddef>
#include <cstdint>
#include <memory>
#include <set>
#include <string>

namespace firstmow::http {

class Core : public std::enable_shared_from_this<Core> {
public:
    Core(asio::io_context& io, Backend& backend, AccessSettings access, Limits limits);

    Result<std::uint16_t> listen(const std::string& address, std::uint16_t port);
    void publish();
    void set_access(std::vector<std::string> host_names, bool reads_closed);
    void close();
    ServerCounts counts() const;

    // For connections.
    const Limits& limits() const { return limits_; }
    App& app() { return app_; }
    Streams& streams() { return *streams_; }
    asio::io_context& io() { return io_; }
    bool closed() const { return closed_; }
    void add(Connection* connection) { connections_.insert(connection); }
    void remove(Connection* connection) { connections_.erase(connection); }
    // Room for a reply of so many bytes until `release`. False: too much is being sent already.
    bool reserve(std::size_t bytes);
    void release(std::size_t bytes) { waiting_bytes_ -= bytes; }
    void count_request() { ++requests_; }

private:
    void accept();
    void on_accept(error_code error, tcp::socket socket);
    bool make_room();

    asio::io_context& io_;
    const Limits limits_;
    App app_;
    tcp::acceptor acceptor_;
    asio::steady_timer retry_;
    std::set<Connection*> connections_;
    std::shared_ptr<Streams> streams_;
    std::size_t waiting_bytes_ = 0;
    unsigned long long requests_ = 0;
    bool closed_ = false;
};

} // namespace firstmow::http
