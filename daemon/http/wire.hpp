// Inside of the room: Beast's messages and ours, one into the other, and the names of its library
// that connections and event streams share.
#pragma once

#include "http/message.hpp"

#include <utility> // before Asio: Boost 1.74 forgets it

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http.hpp>

#include <chrono>
#include <optional>
#include <string>

namespace firstmow::http {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace bhttp = boost::beast::http;
using asio::ip::tcp;
using beast::error_code;

using BeastRequest = bhttp::request<bhttp::string_body>;
using SteadyTime = std::chrono::steady_clock::time_point;

Request to_request(BeastRequest&& message, const std::string& peer);
// Status line and headers as they are sent. Ours, since Beast hands a message to the socket in some
// forty pieces, which costs more than all the rest of an answer. `length` of a body that ends.
std::string head_of(const Reply& reply, std::optional<std::size_t> length, bool keep_alive);
// What a request that could not be read deserves; nothing when the other end is gone or too slow.
std::optional<Reply> reply_to(const error_code& error);
// The literal address of the other end; an IPv4 one in IPv6 clothes as what it is.
std::string peer_of(const tcp::socket& socket);

} // namespace firstmow::http
