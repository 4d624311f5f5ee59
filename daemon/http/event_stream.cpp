#include "http/event_stream.hpp"

#include <boost/asio/write.hpp>

namespace firstmow::http {

EventStream::EventStream(std::shared_ptr<Streams> all, tcp::socket socket,
                         std::function<bool()> welcome)
    : all_(std::move(all)), stream_(std::move(socket)), welcome_(std::move(welcome)) {
    all_->streams_.insert(this);
}

EventStream::~EventStream() {
    all_->streams_.erase(this);
}

void EventStream::begin(EventText head) {
    watch();
    push_status(std::move(head));
}

void EventStream::push_status(EventText text) {
    next_status_ = std::move(text);
    pump();
}

void EventStream::push_heartbeat(EventText text) {
    next_heartbeat_ = std::move(text);
    pump();
}

void EventStream::pump() {
    if (sending_ || dropped_) return;
    sending_ = next_status_ ? std::exchange(next_status_, nullptr)
                            : std::exchange(next_heartbeat_, nullptr);
    if (!sending_) return;
    stream_.expires_after(all_->limits().event_time);
    asio::async_write(stream_, asio::buffer(*sending_),
                      [self = shared_from_this()](error_code error, std::size_t) {
                          self->sending_ = nullptr;
                          if (error) return self->drop();
                          self->stream_.expires_never();
                          self->pump();
                      });
}

// The other end has nothing more to say; reading notices when it goes.
void EventStream::watch() {
    stream_.async_read_some(asio::buffer(discarded_),
                            [self = shared_from_this()](error_code error, std::size_t) {
                                if (error || self->dropped_) return self->drop();
                                self->watch();
                            });
}

void EventStream::drop() {
    dropped_ = true;
    stream_.close();
}

// --- All of them --------------------------------------------------------------------------------
Streams::Streams(asio::io_context& io, const Limits& limits, std::function<std::string()> heartbeat)
    : limits_(limits), heartbeat_text_(std::move(heartbeat)), heartbeat_(io) {}

void Streams::begin(tcp::socket socket, std::string head, std::function<bool()> welcome) {
    std::make_shared<EventStream>(shared_from_this(), std::move(socket), std::move(welcome))
        ->begin(std::make_shared<const std::string>(std::move(head)));
    beat_later();
}

void Streams::publish(const EventText& status) {
    turn_out();
    for (EventStream* stream : streams_)
        stream->push_status(status);
}

// One that is dropped leaves the set when its read ends, not while it is looked at here.
void Streams::turn_out() {
    for (EventStream* stream : streams_)
        if (!stream->welcome()) stream->drop();
}

void Streams::beat_later() {
    if (beating_) return;
    beating_ = true;
    heartbeat_.expires_after(limits_.heartbeat);
    heartbeat_.async_wait([self = shared_from_this()](error_code cancelled) {
        self->beating_ = false;
        if (cancelled || self->closed_ || self->streams_.empty()) return;
        self->turn_out();
        const auto text = std::make_shared<const std::string>(self->heartbeat_text_());
        for (EventStream* stream : self->streams_)
            stream->push_heartbeat(text);
        self->beat_later();
    });
}

void Streams::close() {
    closed_ = true;
    heartbeat_.cancel();
    for (EventStream* stream : streams_)
        stream->drop();
}

} // namespace firstmow::http
