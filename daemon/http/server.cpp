#include "http/server.hpp"

#include "base/check.hpp"
#include "http/app.hpp"
#include "http/problem.hpp"

#include <utility> // before Asio: Boost 1.74 forgets it

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>

#include <algorithm>
#include <array>
#include <exception>
#include <optional>
#include <set>
#include <vector>

namespace firstmow::http {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace bhttp = boost::beast::http;
using asio::ip::tcp;
using beast::error_code;

using BeastRequest = bhttp::request<bhttp::string_body>;
using SteadyTime = std::chrono::steady_clock::time_point;

Method method_of(bhttp::verb verb) {
    if (verb == bhttp::verb::get) return Method::get;
    if (verb == bhttp::verb::head) return Method::head;
    if (verb == bhttp::verb::post) return Method::post;
    if (verb == bhttp::verb::delete_) return Method::del;
    return Method::other;
}

std::string text_of(beast::string_view text) {
    return {text.data(), text.size()};
}

Request to_request(BeastRequest&& message, const std::string& peer) {
    Request request;
    request.method = method_of(message.method());
    const std::string target = text_of(message.target());
    const auto mark = target.find('?');
    request.path = target.substr(0, mark);
    if (mark != std::string::npos) request.query = target.substr(mark + 1);
    if (message.count(bhttp::field::host) == 1) request.host = text_of(message[bhttp::field::host]);
    for (const auto& field : message) {
        std::string name = text_of(field.name_string());
        for (char& c : name)
            if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + ('a' - 'A'));
        request.headers.emplace_back(std::move(name), text_of(field.value()));
    }
    request.body = std::move(message.body());
    request.peer = peer;
    return request;
}

template <class Message>
void set_head(Message& message, const Reply& reply, bool keep_alive) {
    message.version(11);
    message.result(static_cast<unsigned>(reply.status));
    message.reason(std::string(status_phrase(reply.status)));
    for (const Header& header : reply.headers)
        message.insert(header.first, header.second);
    if (!reply.content_type.empty()) message.set(bhttp::field::content_type, reply.content_type);
    message.keep_alive(keep_alive);
}

// What a request that could not be read deserves; nothing when the other end is gone or too slow.
std::optional<Reply> reply_to(const error_code& error) {
    if (error == bhttp::error::header_limit || error == bhttp::error::buffer_overflow)
        return problem(431, "headers-too-large", "the request's head is too large; send less");
    if (error == bhttp::error::body_limit)
        return problem(413, "body-too-large", "the request's body is too large; send less");
    if (error == bhttp::error::end_of_stream || error == bhttp::error::partial_message)
        return std::nullopt;
    const error_code sample = bhttp::error::bad_method;
    if (error.category() == sample.category())
        return problem(400, "bad-request", "this is not an HTTP request as it should be");
    return std::nullopt;
}

std::string peer_of(const tcp::socket& socket) {
    error_code error;
    const auto endpoint = socket.remote_endpoint(error);
    if (error) return "?";
    const asio::ip::address address = endpoint.address();
    if (address.is_v6() && address.to_v6().is_v4_mapped())
        return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
    return address.to_string();
}

} // namespace

// --- One connection -----------------------------------------------------------------------------
// Reads a request, has it answered, writes the reply, and again; or becomes an event stream.
// Owned by its own pending operations: when none is left it is gone.
class Connection : public std::enable_shared_from_this<Connection> {
public:
    enum class State { reading, answering, writing, streaming, closing };

    Connection(std::shared_ptr<class ServerCore> core, tcp::socket socket);
    ~Connection();

    void read();
    void drop();    // at once
    void wind_up(); // when the reply under way is written
    // For streams: the newest text of each kind is sent, older unsent ones are forgotten, so a
    // slow reader holds two texts at most.
    void push_status(std::shared_ptr<const std::string> text);
    void push_heartbeat(std::shared_ptr<const std::string> text);

    State state() const { return state_; }
    SteadyTime since() const { return since_; }

private:
    void enter(State state);
    void on_read(error_code error);
    void answer(BeastRequest&& message);
    void take(Reply reply, bool keep_alive);
    void write(Reply reply, bool keep_alive);
    template <class Message>
    void write_message(std::shared_ptr<Message> message, std::size_t bytes, bool keep_alive);
    void on_written(error_code error, std::size_t bytes, bool keep_alive);
    void begin_stream(const Reply& reply);
    void pump();
    void watch_stream();
    void linger();
    void drain();

    std::shared_ptr<ServerCore> core_;
    beast::tcp_stream stream_;
    asio::steady_timer answer_timer_;
    std::string peer_;
    beast::flat_buffer buffer_;
    std::optional<bhttp::request_parser<bhttp::string_body>> parser_;
    State state_ = State::reading;
    SteadyTime since_ = std::chrono::steady_clock::now();
    bool head_only_ = false;
    bool last_ = false;      // close after the reply
    std::uint64_t turn_ = 0; // of the request being answered; a late answer has an older one

    std::shared_ptr<const std::string> next_status_;
    std::shared_ptr<const std::string> next_heartbeat_;
    std::shared_ptr<const std::string> sending_;
    std::array<char, 1024> discarded_{};
    std::size_t drained_bytes_ = 0;
};

// --- The whole of them --------------------------------------------------------------------------
class ServerCore : public std::enable_shared_from_this<ServerCore> {
public:
    ServerCore(asio::io_context& io, Backend& backend, AccessSettings access, Limits limits)
        : io_(io),
          limits_(limits),
          app_(backend, std::move(access), [this] { return counts(); }),
          acceptor_(io),
          retry_(io),
          heartbeat_(io) {}

    Result<std::uint16_t> listen(const std::string& address, std::uint16_t port);
    void publish();
    void close();

    ServerCounts counts() const { return {connections_.size(), streams_.size(), requests_}; }
    const Limits& limits() const { return limits_; }
    App& app() { return app_; }
    asio::io_context& io() { return io_; }
    bool closed() const { return closed_; }

    void add(Connection* connection) { connections_.insert(connection); }
    void remove(Connection* connection) {
        connections_.erase(connection);
        streams_.erase(connection);
    }
    bool add_stream(Connection* connection);
    bool reserve(std::size_t bytes);
    void release(std::size_t bytes) { waiting_bytes_ -= bytes; }
    void count_request() { ++requests_; }

private:
    void accept();
    void on_accept(error_code error, tcp::socket socket);
    bool make_room();
    void beat_later();

    asio::io_context& io_;
    const Limits limits_;
    App app_;
    tcp::acceptor acceptor_;
    asio::steady_timer retry_;
    asio::steady_timer heartbeat_;
    std::set<Connection*> connections_;
    std::set<Connection*> streams_;
    std::size_t waiting_bytes_ = 0;
    unsigned long long requests_ = 0;
    bool beating_ = false;
    bool closed_ = false;
};

Connection::Connection(std::shared_ptr<ServerCore> core, tcp::socket socket)
    : core_(std::move(core)),
      stream_(std::move(socket)),
      answer_timer_(core_->io()),
      peer_(peer_of(stream_.socket())),
      buffer_(core_->limits().header_bytes + core_->limits().body_bytes) {
    core_->add(this);
}

Connection::~Connection() {
    core_->remove(this);
}

void Connection::enter(State state) {
    state_ = state;
    since_ = std::chrono::steady_clock::now();
}

void Connection::read() {
    if (core_->closed()) return drop();
    enter(State::reading);
    parser_.emplace();
    parser_->header_limit(core_->limits().header_bytes);
    parser_->body_limit(core_->limits().body_bytes);
    stream_.expires_after(core_->limits().request_time);
    bhttp::async_read(
        stream_, buffer_, *parser_,
        [self = shared_from_this()](error_code error, std::size_t) { self->on_read(error); });
}

void Connection::on_read(error_code error) {
    if (core_->closed() || state_ == State::closing) return drop();
    if (!error) return answer(parser_->release());
    auto reply = reply_to(error);
    if (!reply) return drop();
    core_->count_request();
    add_common_headers(*reply, "");
    head_only_ = false;
    write(std::move(*reply), false);
}

void Connection::answer(BeastRequest&& message) {
    enter(State::answering);
    core_->count_request();
    head_only_ = message.method() == bhttp::verb::head;
    const bool keep_alive = message.keep_alive();
    const std::uint64_t turn = ++turn_;
    answer_timer_.expires_after(core_->limits().answer_time);
    answer_timer_.async_wait([weak = weak_from_this(), turn, keep_alive](error_code error) {
        const auto self = weak.lock();
        if (error || !self || self->turn_ != turn || self->state_ != State::answering) return;
        Reply late = problem(504, "no-answer", "the daemon did not answer in time; try again");
        add_common_headers(late, "");
        self->write(std::move(late), keep_alive);
    });
    // Strong while the answer is due: nothing else keeps the connection then.
    Responder respond = [self = shared_from_this(), turn, keep_alive](Reply reply) {
        if (self->turn_ == turn && self->state_ == State::answering)
            self->take(std::move(reply), keep_alive);
    };
    try {
        core_->app().handle(to_request(std::move(message), peer_), respond);
    } catch (const std::exception&) { // a library's, out of memory for example
        Reply reply = problem(500, "fault", "the daemon failed at this request");
        add_common_headers(reply, "");
        respond(std::move(reply));
    }
}

void Connection::take(Reply reply, bool keep_alive) {
    answer_timer_.cancel();
    if (!reply.event_stream || head_only_) return write(std::move(reply), keep_alive);
    if (core_->add_stream(this)) return begin_stream(reply);
    Reply full =
        problem(503, "too-many-streams", "all event streams are taken; ask /api/v1/status instead");
    full.headers.emplace_back("Retry-After", "30");
    add_common_headers(full, "");
    write(std::move(full), keep_alive);
}

void Connection::write(Reply reply, bool keep_alive) {
    if (!core_->reserve(reply.body.size())) {
        reply = problem(503, "busy", "too much is being sent already; try again in a moment");
        reply.headers.emplace_back("Retry-After", "5");
        add_common_headers(reply, "");
        if (!core_->reserve(reply.body.size())) return drop();
    }
    enter(State::writing);
    keep_alive = keep_alive && !last_ && !core_->closed();
    const std::size_t bytes = reply.body.size();
    const bool bodiless = head_only_ || reply.status == 304;
    if (bodiless) {
        auto message = std::make_shared<bhttp::response<bhttp::empty_body>>();
        set_head(*message, reply, keep_alive);
        if (reply.status != 304) message->content_length(bytes);
        return write_message(std::move(message), bytes, keep_alive);
    }
    auto message = std::make_shared<bhttp::response<bhttp::string_body>>();
    set_head(*message, reply, keep_alive);
    message->body() = std::move(reply.body);
    message->content_length(bytes);
    write_message(std::move(message), bytes, keep_alive);
}

template <class Message>
void Connection::write_message(std::shared_ptr<Message> message, std::size_t bytes,
                               bool keep_alive) {
    stream_.expires_after(core_->limits().reply_time);
    bhttp::async_write(
        stream_, *message,
        [self = shared_from_this(), message, bytes, keep_alive](error_code error, std::size_t) {
            self->on_written(error, bytes, keep_alive);
        });
}

void Connection::on_written(error_code error, std::size_t bytes, bool keep_alive) {
    core_->release(bytes);
    if (error || state_ == State::closing) return drop();
    if (keep_alive && !last_ && !core_->closed()) return read();
    linger();
}

void Connection::begin_stream(const Reply& reply) {
    enter(State::streaming);
    std::string head = "HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\n";
    for (const Header& header : reply.headers)
        head += header.first + ": " + header.second + "\r\n";
    head += "Connection: close\r\n\r\nretry: 3000\n\n";
    head += core_->app().status_event();
    stream_.expires_never();
    watch_stream();
    push_status(std::make_shared<const std::string>(std::move(head)));
}

void Connection::push_status(std::shared_ptr<const std::string> text) {
    next_status_ = std::move(text);
    pump();
}

void Connection::push_heartbeat(std::shared_ptr<const std::string> text) {
    next_heartbeat_ = std::move(text);
    pump();
}

void Connection::pump() {
    if (sending_ || state_ != State::streaming) return;
    sending_ = next_status_ ? std::exchange(next_status_, nullptr)
                            : std::exchange(next_heartbeat_, nullptr);
    if (!sending_) return;
    stream_.expires_after(core_->limits().event_time);
    asio::async_write(stream_, asio::buffer(*sending_),
                      [self = shared_from_this()](error_code error, std::size_t) {
                          self->sending_ = nullptr;
                          if (error) return self->drop();
                          self->pump();
                      });
}

// A stream's other end has nothing more to say; reading notices when it goes.
void Connection::watch_stream() {
    stream_.async_read_some(asio::buffer(discarded_),
                            [self = shared_from_this()](error_code error, std::size_t) {
                                if (error || self->state_ != State::streaming) return self->drop();
                                self->watch_stream();
                            });
}

// Closes so that the last reply arrives even when the other end is still sending.
void Connection::linger() {
    enter(State::closing);
    error_code ignored;
    stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
    stream_.expires_after(Seconds(2));
    drain();
}

void Connection::drain() {
    constexpr std::size_t kDrainMax = 256 * 1024;
    stream_.async_read_some(asio::buffer(discarded_),
                            [self = shared_from_this()](error_code error, std::size_t bytes) {
                                self->drained_bytes_ += bytes;
                                if (error || self->drained_bytes_ > kDrainMax) return self->drop();
                                self->drain();
                            });
}

void Connection::drop() {
    state_ = State::closing;
    answer_timer_.cancel();
    stream_.close();
}

void Connection::wind_up() {
    last_ = true;
    if (state_ == State::reading || state_ == State::streaming) drop();
}

// --- ServerCore ---------------------------------------------------------------------------------
Result<std::uint16_t> ServerCore::listen(const std::string& address, std::uint16_t port) {
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

void ServerCore::accept() {
    acceptor_.async_accept([self = shared_from_this()](error_code error, tcp::socket socket) {
        self->on_accept(error, std::move(socket));
    });
}

void ServerCore::on_accept(error_code error, tcp::socket socket) {
    if (closed_) return;
    if (error) { // out of descriptors, most likely: not in a tight circle
        retry_.expires_after(Millis(200));
        retry_.async_wait([self = shared_from_this()](error_code cancelled) {
            if (!cancelled && !self->closed_) self->accept();
        });
        return;
    }
    if (connections_.size() < limits_.connections || make_room()) {
        error_code ignored;
        socket.set_option(tcp::no_delay(true), ignored);
        std::make_shared<Connection>(shared_from_this(), std::move(socket))->read();
    }
    accept();
}

// Closes the connection that has been at its request for longest. Whether there was one.
bool ServerCore::make_room() {
    Connection* slowest = nullptr;
    for (Connection* connection : connections_)
        if (connection->state() == Connection::State::reading &&
            (slowest == nullptr || connection->since() < slowest->since()))
            slowest = connection;
    if (slowest == nullptr) return false;
    slowest->drop(); // it leaves the set when its read ends
    return connections_.size() <= limits_.connections + limits_.streams;
}

bool ServerCore::add_stream(Connection* connection) {
    if (closed_ || streams_.size() >= limits_.streams) return false;
    streams_.insert(connection);
    beat_later();
    return true;
}

bool ServerCore::reserve(std::size_t bytes) {
    if (waiting_bytes_ + bytes > limits_.waiting_bytes) return false;
    waiting_bytes_ += bytes;
    return true;
}

void ServerCore::beat_later() {
    if (beating_) return;
    beating_ = true;
    heartbeat_.expires_after(limits_.heartbeat);
    heartbeat_.async_wait([self = shared_from_this()](error_code cancelled) {
        self->beating_ = false;
        if (cancelled || self->closed_ || self->streams_.empty()) return;
        const auto text = std::make_shared<const std::string>(self->app_.heartbeat_event());
        for (Connection* connection : self->streams_)
            connection->push_heartbeat(text);
        self->beat_later();
    });
}

void ServerCore::publish() {
    if (closed_ || streams_.empty()) return;
    const auto text = std::make_shared<const std::string>(app_.status_event());
    if (text->empty()) return;
    for (Connection* connection : streams_)
        connection->push_status(text);
}

void ServerCore::close() {
    if (closed_) return;
    closed_ = true;
    error_code ignored;
    acceptor_.close(ignored);
    retry_.cancel();
    heartbeat_.cancel();
    for (Connection* connection : connections_)
        connection->wind_up();
}

// --- HttpServer ---------------------------------------------------------------------------------
class HttpServer::Impl : public ServerCore {
    using ServerCore::ServerCore;
};

HttpServer::HttpServer(asio::io_context& io, Backend& backend, AccessSettings access, Limits limits)
    : impl_(std::make_shared<Impl>(io, backend, std::move(access), limits)) {}
HttpServer::~HttpServer() {
    close();
}

Result<std::uint16_t> HttpServer::listen(const std::string& address, std::uint16_t port) {
    return impl_->listen(address, port);
}
void HttpServer::publish() {
    impl_->publish();
}
void HttpServer::set_access(std::vector<std::string> host_names, bool reads_closed) {
    impl_->app().set_access(std::move(host_names), reads_closed);
}
void HttpServer::close() {
    impl_->close();
}
std::size_t HttpServer::connections() const {
    return impl_->counts().connections;
}
std::size_t HttpServer::streams() const {
    return impl_->counts().streams;
}

} // namespace firstmow::http
