// The HTTP server: sockets, limits and time-outs around the App. Lives on the caller's io_context,
// which one thread runs; every function here is called on that thread.
//
// Everything is bounded: connections, header and body size, the time a request or a reply may
// take, event streams, and the bytes that wait for slow readers. When all connections are taken,
// the one that has dawdled longest over its request makes room.
#pragma once

#include "base/result.hpp"
#include "http/backend.hpp"
#include "http/gate.hpp"
#include "http/limits.hpp"

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace boost::asio {
class io_context;
}

namespace firstmow::http {

class HttpServer {
public:
    // `io` and `backend` outlive the server.
    HttpServer(boost::asio::io_context& io, Backend& backend, AccessSettings access,
               Limits limits = {});
    ~HttpServer(); // closes
    HttpServer(const HttpServer&) = delete;
    HttpServer& operator=(const HttpServer&) = delete;

    // Binds and begins to serve. `address` is a literal IP address; port 0 lets the system
    // choose. Returns the port.
    Result<std::uint16_t> listen(const std::string& address, std::uint16_t port);

    // There is a new view: tells the event streams. Cheap when nobody listens.
    void publish();

    // What a changed garden file says of access; streams that it forbids end.
    void set_access(std::vector<std::string> host_names, bool reads_closed);

    // Takes no more requests, lets replies under way finish, ends streams.
    void close();

    std::size_t connections() const;
    std::size_t streams() const;

private:
    class Impl;
    std::shared_ptr<Impl> impl_;
};

} // namespace firstmow::http
