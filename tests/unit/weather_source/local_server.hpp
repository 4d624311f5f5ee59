// A web server on a free loopback port that plays whatever a test wants of it, right or wrong;
// with TLS, its certificate made for a name on the spot.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace firstmow::trial {

// The open connection that a play speaks into.
class Line {
public:
    virtual ~Line() = default;
    // False when the other end is gone, or the server ends.
    virtual bool send(const std::string& bytes) = 0;
    bool pause(int ms);
    int watched = -1; // the socket, to notice that the other end is gone
    const std::atomic<bool>* ending = nullptr;
};

// Given the request's head, answers; the connection is closed when it returns.
using Play = std::function<void(Line& line, const std::string& head)>;

std::string answer(int status, const std::string& type, const std::string& body,
                   const std::string& more_headers = "");
// One answer to everything.
Play always(std::string bytes);

class LocalServer {
public:
    // `certified_for`: with TLS, a certificate of this name; empty: plain HTTP.
    explicit LocalServer(Play play, const std::string& certified_for = "");
    ~LocalServer();
    LocalServer(const LocalServer&) = delete;
    LocalServer& operator=(const LocalServer&) = delete;

    int port() const { return port_; }
    std::string url() const; // http://127.0.0.1:PORT or https://localhost:PORT
    // The file that a client must trust, with TLS.
    std::string certificate_file() const { return certificate_file_; }
    void play(Play play);
    // The heads of the requests so far.
    std::vector<std::string> heads() const;

private:
    void serve();
    void converse(int socket);

    int port_ = 0; // before the listener, which sets it
    int listener_ = -1;
    std::string certificate_file_;
    struct Tls;
    std::unique_ptr<Tls> tls_;
    mutable std::mutex mutex_;
    Play play_;
    std::vector<std::string> heads_;
    std::atomic<bool> ending_{false};
    std::thread thread_;
};

// A port of the loopback on which nobody listens.
int free_port();

} // namespace firstmow::trial
