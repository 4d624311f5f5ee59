// Inside of the room: one connection. Reads a request, has it answered, writes the reply, and
// again; or hands its socket over to an event stream.
#pragma once

#include "http/wire.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

namespace firstmow::http {

class Core;

// Owned by its own pending operations: when none is left it is gone.
class Connection : public std::enable_shared_from_this<Connection> {
public:
    enum class State { reading, answering, writing, closing };

    Connection(std::shared_ptr<Core> core, tcp::socket socket);
    ~Connection();

    void read();
    void drop();    // at once
    void wind_up(); // when the reply under way is written

    State state() const { return state_; }
    SteadyTime since() const { return since_; }

private:
    // A reply on its way; it lies still until it is written.
    struct Sending {
        Reply reply;
        std::string head;
        bool keep_alive = false;
        std::size_t bytes = 0; // reserved
    };

    void enter(State state);
    void on_read(error_code error);
    void answer(BeastRequest&& message);
    void take(Reply reply, bool keep_alive);
    void write(Reply reply, bool keep_alive);
    void on_written(error_code error, const Sending& sent);
    void become_stream(Reply reply);
    void linger();
    void drain();

    std::shared_ptr<Core> core_;
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
    std::array<char, 1024> discarded_{};
    std::size_t drained_bytes_ = 0;
};

} // namespace firstmow::http
