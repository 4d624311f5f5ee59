#include "http/server.hpp"

#include "http/core.hpp"

namespace firstmow::http {

class HttpServer::Impl : public Core {
    using Core::Core;
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
    impl_->set_access(std::move(host_names), reads_closed);
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
