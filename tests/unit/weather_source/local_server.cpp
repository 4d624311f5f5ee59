#include "local_server.hpp"

#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>

namespace firstmow::trial {

namespace {

void must(bool right) {
    if (!right) std::abort();
}

int listen_somewhere(int& port) {
    const int listener = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    must(listener >= 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    must(::bind(listener, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0);
    socklen_t length = sizeof address;
    must(::getsockname(listener, reinterpret_cast<sockaddr*>(&address), &length) == 0);
    port = ntohs(address.sin_port);
    return listener;
}

class PlainLine : public Line {
public:
    explicit PlainLine(int socket) : socket_(socket) {}
    bool send(const std::string& bytes) override {
        std::size_t sent = 0;
        while (sent < bytes.size() && !*ending) {
            const ssize_t n =
                ::send(socket_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
            if (n <= 0) return false;
            sent += static_cast<std::size_t>(n);
        }
        return sent == bytes.size();
    }

private:
    int socket_;
};

class TlsLine : public Line {
public:
    explicit TlsLine(SSL* ssl) : ssl_(ssl) {}
    bool send(const std::string& bytes) override {
        return SSL_write(ssl_, bytes.data(), static_cast<int>(bytes.size())) > 0;
    }

private:
    SSL* ssl_;
};

} // namespace

struct LocalServer::Tls {
    SSL_CTX* context = nullptr;
    std::string file;

    explicit Tls(const std::string& name) {
        EVP_PKEY* const key = EVP_EC_gen("P-256");
        must(key != nullptr);
        X509* const certificate = X509_new();
        X509_set_version(certificate, 2);
        ASN1_INTEGER_set(X509_get_serialNumber(certificate), 1);
        X509_gmtime_adj(X509_getm_notBefore(certificate), -3600);
        X509_gmtime_adj(X509_getm_notAfter(certificate), 24L * 3600);
        X509_set_pubkey(certificate, key);
        X509_NAME* const subject = X509_get_subject_name(certificate);
        X509_NAME_add_entry_by_txt(subject, "CN", MBSTRING_ASC,
                                   reinterpret_cast<const unsigned char*>(name.c_str()), -1, -1, 0);
        X509_set_issuer_name(certificate, subject);
        X509_EXTENSION* const alternative =
            X509V3_EXT_conf_nid(nullptr, nullptr, NID_subject_alt_name, ("DNS:" + name).c_str());
        must(alternative != nullptr);
        X509_add_ext(certificate, alternative, -1);
        X509_EXTENSION_free(alternative);
        must(X509_sign(certificate, key, EVP_sha256()) > 0);
        context = SSL_CTX_new(TLS_server_method());
        must(SSL_CTX_use_certificate(context, certificate) == 1);
        must(SSL_CTX_use_PrivateKey(context, key) == 1);
        std::string path = (std::filesystem::temp_directory_path() / "firstmow-ca-XXXXXX").string();
        const int fd = ::mkstemp(path.data());
        must(fd >= 0);
        FILE* const out = ::fdopen(fd, "w");
        must(PEM_write_X509(out, certificate) == 1);
        std::fclose(out);
        file = path;
        X509_free(certificate);
        EVP_PKEY_free(key);
    }
    ~Tls() {
        SSL_CTX_free(context);
        std::remove(file.c_str());
    }
    Tls(const Tls&) = delete;
    Tls& operator=(const Tls&) = delete;
};

bool Line::pause(int ms) {
    for (int waited = 0; waited < ms && !*ending; waited += 10) {
        pollfd other{watched, POLLRDHUP, 0};
        if (::poll(&other, 1, 10) == 1) return false;
    }
    return !*ending;
}

std::string answer(int status, const std::string& type, const std::string& body,
                   const std::string& more_headers) {
    std::string head = "HTTP/1.1 " + std::to_string(status) + " Said\r\n";
    if (!type.empty()) head += "Content-Type: " + type + "\r\n";
    return head + more_headers + "Content-Length: " + std::to_string(body.size()) +
           "\r\nConnection: close\r\n\r\n" + body;
}

Play always(std::string bytes) {
    return [bytes = std::move(bytes)](Line& line, const std::string&) { line.send(bytes); };
}

LocalServer::LocalServer(Play play, const std::string& certified_for)
    : listener_(listen_somewhere(port_)), play_(std::move(play)) {
    if (!certified_for.empty()) {
        tls_ = std::make_unique<Tls>(certified_for);
        certificate_file_ = tls_->file;
    }
    must(::listen(listener_, 16) == 0);
    thread_ = std::thread([this] { serve(); });
}

LocalServer::~LocalServer() {
    ending_ = true;
    thread_.join();
    ::close(listener_);
}

std::string LocalServer::url() const {
    return (tls_ ? "https://localhost:" : "http://127.0.0.1:") + std::to_string(port_);
}

void LocalServer::play(Play play) {
    const std::lock_guard lock(mutex_);
    play_ = std::move(play);
}

std::vector<std::string> LocalServer::heads() const {
    const std::lock_guard lock(mutex_);
    return heads_;
}

void LocalServer::serve() {
    while (!ending_) {
        pollfd waiting{listener_, POLLIN, 0};
        if (::poll(&waiting, 1, 20) != 1) continue;
        const int socket = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
        if (socket < 0) continue;
        timeval patience{2, 0};
        ::setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
        ::setsockopt(socket, SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
        converse(socket);
        ::shutdown(socket, SHUT_WR);
        char rest[256];
        while (::recv(socket, rest, sizeof rest, 0) > 0) {
        }
        ::close(socket);
    }
}

void LocalServer::converse(int socket) {
    SSL* ssl = nullptr;
    if (tls_) {
        ssl = SSL_new(tls_->context);
        SSL_set_fd(ssl, socket);
        if (SSL_accept(ssl) != 1) {
            SSL_free(ssl);
            return;
        }
    }
    std::string head;
    char bytes[1024];
    while (head.find("\r\n\r\n") == std::string::npos) {
        const auto n = ssl != nullptr ? SSL_read(ssl, bytes, sizeof bytes)
                                      : static_cast<int>(::recv(socket, bytes, sizeof bytes, 0));
        if (n <= 0) break;
        head.append(bytes, static_cast<std::size_t>(n));
    }
    Play play;
    {
        const std::lock_guard lock(mutex_);
        heads_.push_back(head);
        play = play_;
    }
    std::unique_ptr<Line> line;
    if (ssl != nullptr)
        line = std::make_unique<TlsLine>(ssl);
    else
        line = std::make_unique<PlainLine>(socket);
    line->ending = &ending_;
    line->watched = socket;
    play(*line, head);
    if (ssl != nullptr) {
        SSL_shutdown(ssl);
        SSL_free(ssl);
    }
}

int free_port() {
    int port = 0;
    ::close(listen_somewhere(port));
    return port;
}

} // namespace firstmow::trial
