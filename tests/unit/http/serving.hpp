// A server with the invented garden, on a free port and a thread of its own, and a bare socket to
// speak to it as a browser never would.
#pragma once

#include "fake_backend.hpp"
#include "http/server.hpp"

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

namespace firstmow::http {

constexpr const char* kKey = "lawn-key";

class Serving {
public:
    // The book of who may come in lies in a fresh folder.
    explicit Serving(Limits limits = {},
                     AccessSettings access = {.key_sha256 = sha256_hex(kKey),
                                              .station_key_sha256 = sha256_hex("station-key")});
    ~Serving();

    std::uint16_t port() const { return port_; }
    std::string host() const { return "127.0.0.1:" + std::to_string(port_); }
    FakeBackend& backend();
    access::Book book() const;
    // Runs on the loop's thread and waits for it.
    void on_loop(const std::function<void(FakeBackend&, HttpServer&)>& what);
    // What a second server gets that wants this port.
    Result<std::uint16_t> listen_again(std::uint16_t port);

private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
    std::uint16_t port_ = 0;
};

class BareSocket {
public:
    explicit BareSocket(std::uint16_t port);
    ~BareSocket();
    BareSocket(const BareSocket&) = delete;
    BareSocket& operator=(const BareSocket&) = delete;

    // False when the other end has closed.
    bool send(const std::string& text);
    // All that comes until the other end closes, `until` has come, or 10 s have passed.
    std::string receive(const std::string& until = {});
    // Whether the other end has closed within 10 s.
    bool closed();

private:
    int socket_ = -1;
    std::string received_;
};

} // namespace firstmow::http
