// Inside of the room: the event streams (server-sent events), one for each page that is open.
//
// The newest text of each kind is sent and older unsent ones are forgotten, so a slow reader holds
// two texts at most. A stream may be open for weeks: whoever it belongs to may be signed out or
// lose the key meanwhile, so it asks before every word whether it is still welcome, and ends if
// not.
#pragma once

#include "http/limits.hpp"
#include "http/wire.hpp"

#include <array>
#include <functional>
#include <memory>
#include <set>
#include <string>

namespace firstmow::http {

class Streams;
using EventText = std::shared_ptr<const std::string>;

// Owned by its own pending operations: when none is left it is gone.
class EventStream : public std::enable_shared_from_this<EventStream> {
public:
    EventStream(std::shared_ptr<Streams> all, tcp::socket socket, std::function<bool()> welcome);
    ~EventStream();

    void begin(EventText head);
    void push_status(EventText text);
    void push_heartbeat(EventText text);
    void drop();
    bool welcome() const { return !welcome_ || welcome_(); }

private:
    void pump();
    void watch();

    std::shared_ptr<Streams> all_;
    beast::tcp_stream stream_;
    std::function<bool()> welcome_;
    EventText next_status_;
    EventText next_heartbeat_;
    EventText sending_;
    bool dropped_ = false;
    std::array<char, 256> discarded_{};
};

// All of them: bounded, told of what is new, and of nothing new each heartbeat.
class Streams : public std::enable_shared_from_this<Streams> {
public:
    // `heartbeat` makes the text that shows that the line still stands.
    Streams(asio::io_context& io, const Limits& limits, std::function<std::string()> heartbeat);

    bool room() const { return !closed_ && streams_.size() < limits_.streams; }
    // Takes the socket of a request for events. `head`: the reply's head and the newest event.
    void begin(tcp::socket socket, std::string head, std::function<bool()> welcome);
    void publish(const EventText& status);
    // Ends those that are not welcome any more.
    void turn_out();
    void close();

    std::size_t count() const { return streams_.size(); }
    const Limits& limits() const { return limits_; }

private:
    friend class EventStream;
    void beat_later();

    const Limits limits_;
    std::function<std::string()> heartbeat_text_;
    asio::steady_timer heartbeat_;
    std::set<EventStream*> streams_;
    bool beating_ = false;
    bool closed_ = false;
};

} // namespace firstmow::http
