#include "http/wire.hpp"

#include "http/problem.hpp"

namespace firstmow::http {
namespace {

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

} // namespace

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

std::string head_of(const Reply& reply, std::optional<std::size_t> length, bool keep_alive) {
    std::string head;
    head.reserve(640);
    head.append("HTTP/1.1 ").append(std::to_string(reply.status)).append(" ");
    head.append(status_phrase(reply.status)).append("\r\n");
    const auto line = [&head](std::string_view name, std::string_view value) {
        // A header ends with its line, whatever stands in a value.
        const std::string_view one_line = value.substr(0, value.find_first_of("\r\n"));
        head.append(name).append(": ").append(one_line).append("\r\n");
    };
    if (!reply.content_type.empty()) line("Content-Type", reply.content_type);
    for (const Header& header : reply.headers)
        line(header.first, header.second);
    if (length) line("Content-Length", std::to_string(*length));
    if (!keep_alive) line("Connection", "close");
    return head += "\r\n";
}

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

} // namespace firstmow::http
