#include "http/connection.hpp"

#include "http/core.hpp"
#include "http/problem.hpp"

#include <boost/asio/write.hpp>

#include <exception>

namespace firstmow::http {

Connection::Connection(std::shared_ptr<Core> core, tcp::socket socket)
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

// --- A request ----------------------------------------------------------------------------------
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
    if (turn_ != turn || state_ != State::answering) return; // it was answered at once
    answer_timer_.expires_after(core_->limits().answer_time);
    answer_timer_.async_wait([weak = weak_from_this(), turn, keep_alive](error_code error) {
        const auto self = weak.lock();
        if (error || !self || self->turn_ != turn || self->state_ != State::answering) return;
        Reply late = problem(504, "no-answer", "the daemon did not answer in time; try again");
        add_common_headers(late, "");
        self->write(std::move(late), keep_alive);
    });
}

// --- Its reply ----------------------------------------------------------------------------------
void Connection::take(Reply reply, bool keep_alive) {
    answer_timer_.cancel();
    if (!reply.event_stream || head_only_) return write(std::move(reply), keep_alive);
    if (core_->streams().room()) return become_stream(std::move(reply));
    Reply full =
        problem(503, "too-many-streams", "all event streams are taken; ask /api/v1/status instead");
    full.headers.emplace_back("Retry-After", "30");
    add_common_headers(full, "");
    write(std::move(full), keep_alive);
}

void Connection::write(Reply reply, bool keep_alive) {
    if (!core_->reserve(reply.text().size())) {
        reply = problem(503, "busy", "too much is being sent already; try again in a moment");
        reply.headers.emplace_back("Retry-After", "5");
        add_common_headers(reply, "");
        if (!core_->reserve(reply.text().size())) return drop();
    }
    enter(State::writing);
    auto sending = std::make_shared<Sending>();
    sending->reply = std::move(reply);
    sending->keep_alive = keep_alive && !last_ && !core_->closed();
    std::string_view text = sending->reply.text();
    sending->bytes = text.size();
    const bool unchanged = sending->reply.status == 304;
    sending->head =
        head_of(sending->reply, unchanged ? std::nullopt : std::optional<std::size_t>(text.size()),
                sending->keep_alive);
    if (head_only_ || unchanged) text = {};
    stream_.expires_after(core_->limits().reply_time);
    const std::array<asio::const_buffer, 2> parts{asio::buffer(sending->head),
                                                  asio::buffer(text.data(), text.size())};
    asio::async_write(stream_, parts,
                      [self = shared_from_this(), sending](error_code error, std::size_t) {
                          self->on_written(error, *sending);
                      });
}

void Connection::on_written(error_code error, const Sending& sent) {
    core_->release(sent.bytes);
    if (error || state_ == State::closing) return drop();
    if (sent.keep_alive && !last_ && !core_->closed()) return read();
    linger();
}

void Connection::become_stream(Reply reply) {
    std::string head = head_of(reply, std::nullopt, false) + "retry: 3000\n\n";
    head += core_->app().status_event();
    state_ = State::closing; // nothing is left to do here
    core_->streams().begin(stream_.release_socket(), std::move(head), std::move(reply.welcome));
}

// --- Its end ------------------------------------------------------------------------------------
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
    if (state_ == State::reading) drop();
}

} // namespace firstmow::http
