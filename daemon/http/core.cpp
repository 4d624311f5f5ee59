#include "http/core.hpp"

#include "base/check.hpp"

namespace firstmow::http {

Core::Core(asio::io_context& io, Backend& backend, AccessSettings access, Limits limits)
    : io_(io),
      limits_(limits),
      app_(backend, std::move(access), [this] { return counts(); }),
      acceptor_(io),
      retry_(io),
      streams_(std::make_shared<Streams>(io, limits, [this] { return app_.heartbeat_event(); })) {
    app_.on_sign_out([this] { streams_->turn_out(); });
}

// A stream is a connection too.
ServerCounts Core::counts() const {
    return {connections_.size() + streams_->count(), streams_->count(), requests_};
}

Result<std::uint16_t> Core::listen(const std::string& address, std::uint16_t port) {
    CHECK(!acceptor_.is_open());
    const std::string place = "port " + std::to_string(port) + " on " + address;
    error_code error;
    const auto ip = asio::ip::make_address(address, error);
    if (error)
        return Error{"'" + address +
                     "' is not an address to listen on; write one such as "
                     "127.0.0.1, 192.168.1.20 or ::"};
    const tcp::endpoint endpoint(ip, port);
    acceptor_.open(endpoint.protocol(), error);
    if (!error) acceptor_.set_option(tcp::acceptor::reuse_address(true), error);
    if (!error) acceptor_.bind(endpoint, error);
    if (!error) acceptor_.listen(tcp::acceptor::max_listen_connections, error);
    if (error) {
        error_code ignored;
        acceptor_.close(ignored);
        if (error == asio::error::address_in_use)
            return Error{place + " is in use; choose another with --listen ADDR:PORT"};
        if (error == asio::error::access_denied)
            return Error{place + " is not allowed to this user; choose a port above 1023 with "
                                 "--listen ADDR:PORT"};
        return Error{place + " cannot be listened on (" + error.message() +
                     "); choose another with --listen ADDR:PORT"};
    }
    const std::uint16_t bound = acceptor_.local_endpoint(error).port();
    accept();
    return bound;
}

void Core::accept() {
    acceptor_.async_accept([self = shared_from_this()](error_code error, tcp::socket socket) {
        self->on_accept(error, std::move(socket));
    });
}

void Core::on_accept(error_code error, tcp::socket socket) {
    if (closed_) return;
    if (error) { // out of descriptors, most likely: not in a tight circle
        retry_.expires_after(Millis(200));
        retry_.async_wait([self = shared_from_this()](error_code cancelled) {
            if (!cancelled && !self->closed_) self->accept();
        });
        return;
    }
    if (counts().connections < limits_.connections || make_room()) {
        error_code ignored;
        socket.set_option(tcp::no_delay(true), ignored);
        std::make_shared<Connection>(shared_from_this(), std::move(socket))->read();
    }
    accept();
}

// Closes the connection that has been at its request for longest. Whether there was one.
bool Core::make_room() {
    Connection* slowest = nullptr;
    for (Connection* connection : connections_)
        if (connection->state() == Connection::State::reading &&
            (slowest == nullptr || connection->since() < slowest->since()))
            slowest = connection;
    if (slowest == nullptr) return false;
    slowest->drop(); // it leaves the set when its read ends
    return counts().connections <= limits_.connections + limits_.streams;
}

bool Core::reserve(std::size_t bytes) {
    if (waiting_bytes_ + bytes > limits_.waiting_bytes) return false;
    waiting_bytes_ += bytes;
    return true;
}

void Core::publish() {
    if (closed_ || streams_->count() == 0) return;
    auto text = std::make_shared<const std::string>(app_.status_event());
    if (!text->empty()) streams_->publish(text);
}

void Core::set_access(std::vector<std::string> host_names, bool reads_closed) {
    app_.set_access(std::move(host_names), reads_closed);
    streams_->turn_out();
}

void Core::close() {
    if (closed_) return;
    closed_ = true;
    error_code ignored;
    acceptor_.close(ignored);
    retry_.cancel();
    streams_->close();
    for (Connection* connection : connections_)
        connection->wind_up();
}

} // namespace firstmow::http
