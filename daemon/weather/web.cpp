#include "weather/web.hpp"

#include "base/text.hpp"

#include <utility> // before Asio: Boost 1.74 forgets it

#include <boost/asio/connect.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/error.hpp>
#include <boost/asio/ssl/host_name_verification.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>

#include <netdb.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <condition_variable>
#include <exception>
#include <memory>
#include <mutex>
#include <thread>

namespace firstmow::weather_source {

namespace {

namespace asio = boost::asio;
namespace bhttp = boost::beast::http;
using asio::ip::tcp;
using boost::system::error_code;
using Clock = std::chrono::steady_clock;
using Parser = bhttp::response_parser<bhttp::string_body>;

constexpr std::uint32_t kMostHeadBytes = 32 * 1024;
constexpr int kMostRedirects = 2;
constexpr Millis kLookForStop{100};

struct Failed {
    std::string why;
};

// getaddrinfo knows no deadline. It runs on a thread of its own, which is left behind when it
// takes too long and then has nothing but its own copies to finish with.
struct Lookup {
    std::mutex mutex;
    std::condition_variable done;
    bool finished = false;
    int code = 0;
    std::vector<tcp::endpoint> endpoints;
};

void look_up(const std::shared_ptr<Lookup>& lookup, const std::string& host,
             const std::string& port) {
    addrinfo hints{};
    hints.ai_family = AF_UNSPEC;
    hints.ai_socktype = SOCK_STREAM;
    hints.ai_flags = AI_NUMERICSERV;
    addrinfo* list = nullptr;
    const int code = ::getaddrinfo(host.c_str(), port.c_str(), &hints, &list);
    std::vector<tcp::endpoint> endpoints;
    for (const addrinfo* one = list; one != nullptr; one = one->ai_next) {
        tcp::endpoint endpoint;
        if (one->ai_addrlen > endpoint.capacity()) continue;
        std::copy_n(reinterpret_cast<const char*>(one->ai_addr), one->ai_addrlen,
                    reinterpret_cast<char*>(endpoint.data()));
        endpoint.resize(one->ai_addrlen);
        endpoints.push_back(endpoint);
    }
    if (list != nullptr) ::freeaddrinfo(list);
    const std::lock_guard lock(lookup->mutex);
    lookup->code = code;
    lookup->endpoints = std::move(endpoints);
    lookup->finished = true;
    lookup->done.notify_all();
}

std::optional<std::string> header(const Parser& parser, bhttp::field field) {
    const auto& message = parser.get();
    const auto found = message.find(field);
    if (found == message.end()) return std::nullopt;
    return std::string(found->value().data(), found->value().size());
}

// A number of seconds within bounds; nothing when the text is none.
std::optional<Seconds> seconds_of(std::string_view text) {
    std::int64_t value = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault == std::errc::result_out_of_range) return Seconds{std::chrono::days{7}};
    if (fault != std::errc{} || end != text.data() + text.size() || value < 0) return std::nullopt;
    return std::min(Seconds{value}, Seconds{std::chrono::days{7}});
}

std::optional<Seconds> until(const std::optional<std::string>& date, WallTime now) {
    if (!date) return std::nullopt;
    const auto then = parse_http_date(*date);
    if (!then) return std::nullopt;
    return std::clamp<Seconds>(*then - now, Seconds{0}, std::chrono::days{7});
}

// One exchange with one server.
class Exchange {
public:
    Exchange(const WebRequest& request, const Url& url, Clock::time_point deadline,
             const std::atomic<bool>& stop)
        : request_(request), url_(url), deadline_(deadline), stop_(stop) {}

    std::unique_ptr<Parser> run() {
        const std::vector<tcp::endpoint> endpoints = resolve();
        if (!url_.secure) {
            tcp::socket socket(io_);
            connect(socket, endpoints);
            return converse(socket, socket);
        }
        asio::ssl::context tls(asio::ssl::context::tls_client);
        error_code error;
        tls.set_options(asio::ssl::context::no_sslv2 | asio::ssl::context::no_sslv3 |
                        asio::ssl::context::no_tlsv1 | asio::ssl::context::no_tlsv1_1);
        tls.set_default_verify_paths(error);
        if (!request_.ca_file.empty()) {
            tls.load_verify_file(request_.ca_file, error);
            if (error) throw Failed{"the certificates in " + request_.ca_file + " cannot be read"};
        }
        asio::ssl::stream<tcp::socket> stream(io_, tls);
        stream.set_verify_mode(asio::ssl::verify_peer);
        stream.set_verify_callback(asio::ssl::host_name_verification(url_.host));
        SSL_set_tlsext_host_name(stream.native_handle(), url_.host.c_str());
        connect(stream.next_layer(), endpoints);
        await(stream.next_layer(), "greet", [&](auto done) {
            stream.async_handshake(asio::ssl::stream_base::client,
                                   [done](error_code e) { done(e); });
        });
        return converse(stream, stream.next_layer());
    }

private:
    void look_whether_stopped() const {
        if (stop_) throw Failed{"stopped"};
        if (Clock::now() >= deadline_) throw Failed{url_.host + " is too slow"};
    }

    std::vector<tcp::endpoint> resolve() const {
        const auto lookup = std::make_shared<Lookup>();
        std::thread(look_up, lookup, url_.host, url_.port).detach();
        std::unique_lock lock(lookup->mutex);
        while (!lookup->finished) {
            lookup->done.wait_for(lock, kLookForStop);
            if (!lookup->finished) look_whether_stopped();
        }
        if (lookup->code != 0 || lookup->endpoints.empty())
            throw Failed{"the name " + url_.host + " is not known (" +
                         ::gai_strerror(lookup->code) + ")"};
        return lookup->endpoints;
    }

    // Starts an operation and runs the loop until it has ended, or the deadline has.
    template <class Start>
    void await(tcp::socket& socket, const char* what, Start start) {
        error_code error = asio::error::would_block;
        bool finished = false;
        start([&](error_code e) {
            error = e;
            finished = true;
        });
        bool late = false;
        io_.restart();
        while (!finished) {
            io_.run_one_for(kLookForStop);
            if (io_.stopped()) io_.restart();
            if (!finished && !late && (stop_ || Clock::now() >= deadline_)) {
                late = true;
                error_code ignored;
                socket.close(ignored); // what hangs on it ends with an error
            }
        }
        if (late) look_whether_stopped();
        if (error) throw Failed{words(what, error)};
    }

    std::string words(const char* what, const error_code& error) const {
        const std::string& host = url_.host;
        if (error == asio::error::connection_refused) return host + " refuses the connection";
        if (error == bhttp::error::body_limit) return "the answer of " + host + " is too long";
        if (error == bhttp::error::header_limit)
            return "the head of the answer of " + host + " is too long";
        if (error == bhttp::error::partial_message || error == bhttp::error::end_of_stream ||
            error == asio::error::eof || error == asio::ssl::error::stream_truncated ||
            error == asio::error::connection_reset)
            return "the answer of " + host + " was cut off";
        if (error.category() == asio::error::get_ssl_category())
            return std::string("the certificate or the encryption of ") + host + " is not right (" +
                   error.message() + ")";
        return std::string("could not ") + what + " " + host + ": " + error.message();
    }

    void connect(tcp::socket& socket, const std::vector<tcp::endpoint>& endpoints) {
        await(socket, "reach", [&](auto done) {
            asio::async_connect(socket, endpoints,
                                [done](error_code e, const tcp::endpoint&) { done(e); });
        });
        error_code ignored;
        socket.set_option(tcp::no_delay(true), ignored);
    }

    template <class Stream>
    std::unique_ptr<Parser> converse(Stream& stream, tcp::socket& socket) {
        bhttp::request<bhttp::empty_body> ask(bhttp::verb::get, url_.path, 11);
        ask.set(bhttp::field::host, url_.authority());
        ask.set(bhttp::field::accept_encoding, "identity");
        ask.set(bhttp::field::connection, "close");
        for (const auto& [name, value] : request_.headers)
            ask.set(name, value);
        await(socket, "ask", [&](auto done) {
            bhttp::async_write(stream, ask, [done](error_code e, std::size_t) { done(e); });
        });
        auto parser = std::make_unique<Parser>();
        parser->header_limit(kMostHeadBytes);
        parser->body_limit(request_.most_bytes);
        boost::beast::flat_buffer buffer(kMostHeadBytes + 64 * 1024);
        await(socket, "hear", [&](auto done) {
            bhttp::async_read_header(stream, buffer, *parser,
                                     [done](error_code e, std::size_t) { done(e); });
        });
        // Looked at here too: Boost 1.74 forgets the limit when the body begins in the same buffer.
        if (const auto length = parser->content_length(); length && *length > request_.most_bytes)
            throw Failed{words("hear", bhttp::error::body_limit)};
        await(socket, "hear", [&](auto done) {
            bhttp::async_read(stream, buffer, *parser,
                              [done](error_code e, std::size_t) { done(e); });
        });
        return parser;
    }

    const WebRequest& request_;
    const Url& url_;
    Clock::time_point deadline_;
    const std::atomic<bool>& stop_;
    asio::io_context io_{1};
};

WebReply reply_of(Parser& parser) {
    WebReply reply;
    reply.status = static_cast<int>(parser.get().result_int());
    reply.content_type = header(parser, bhttp::field::content_type).value_or("");
    reply.last_modified = header(parser, bhttp::field::last_modified);
    reply.etag = header(parser, bhttp::field::etag);
    const auto date = header(parser, bhttp::field::date);
    const auto sent = date ? parse_http_date(*date) : std::nullopt;
    if (const auto control = header(parser, bhttp::field::cache_control)) {
        const auto at = control->find("max-age=");
        if (at != std::string::npos) {
            const auto end = control->find_first_not_of("0123456789", at + 8);
            reply.fresh_for = seconds_of(std::string_view(*control).substr(
                at + 8, end == std::string::npos ? end : end - at - 8));
        }
    }
    // By the server's own clock: ours may be wrong.
    if (!reply.fresh_for && sent)
        reply.fresh_for = until(header(parser, bhttp::field::expires), *sent);
    if (const auto after = header(parser, bhttp::field::retry_after)) {
        reply.retry_after = seconds_of(*after);
        if (!reply.retry_after && sent) reply.retry_after = until(after, *sent);
    }
    reply.body = std::move(parser.get().body());
    return reply;
}

bool is_redirect(int status) {
    return status == 301 || status == 302 || status == 303 || status == 307 || status == 308;
}

WebReply fetch_or_throw(const WebRequest& request, const std::atomic<bool>& stop) {
    const Clock::time_point deadline = Clock::now() + request.deadline;
    Result<Url> url = parse_url(request.url);
    if (!url) throw Failed{url.error().message};
    for (int redirects = 0;; ++redirects) {
        const auto parser = Exchange(request, *url, deadline, stop).run();
        const auto location = header(*parser, bhttp::field::location);
        if (!is_redirect(static_cast<int>(parser->get().result_int())) || !location)
            return reply_of(*parser);
        Url next = *url;
        if (location->starts_with('/') && !location->starts_with("//")) {
            next.path = *location;
        } else {
            const Result<Url> other = parse_url(*location);
            if (!other || !other->same_server(*url))
                throw Failed{url->host + " sends us elsewhere (" + location->substr(0, 100) +
                             "), which is not followed"};
            next = *other;
        }
        if (redirects == kMostRedirects) throw Failed{url->host + " sends us in circles"};
        *url = std::move(next);
    }
}

} // namespace

std::string Url::authority() const {
    std::string name = host.find(':') == std::string::npos ? host : "[" + host + "]";
    if (port != (secure ? "443" : "80")) name += ":" + port;
    return name;
}

bool Url::same_server(const Url& other) const {
    return secure == other.secure && host == other.host && port == other.port;
}

Result<Url> parse_url(std::string_view text) {
    const Error bad{"'" + std::string(text.substr(0, 100)) +
                    "' is not a web address; https://HOST/PATH would be right"};
    Url url;
    if (text.starts_with("https://"))
        text.remove_prefix(8);
    else if (text.starts_with("http://")) {
        url.secure = false;
        text.remove_prefix(7);
    } else {
        return bad;
    }
    for (const char c : text)
        if (c <= ' ' || c == 127) return bad;
    const auto slash = std::min(text.find_first_of("/?#"), text.size());
    std::string_view place = text.substr(0, slash);
    url.path = text.substr(slash);
    if (const auto hash = url.path.find('#'); hash != std::string::npos) url.path.resize(hash);
    if (!url.path.starts_with('/')) url.path.insert(0, "/");
    if (place.find('@') != std::string_view::npos) return bad;
    if (place.starts_with('[')) {
        const auto end = place.find(']');
        if (end == std::string_view::npos) return bad;
        url.host = place.substr(1, end - 1);
        place.remove_prefix(end + 1);
    } else {
        const auto colon = std::min(place.find(':'), place.size());
        url.host = place.substr(0, colon);
        place.remove_prefix(colon);
    }
    url.port = url.secure ? "443" : "80";
    if (!place.empty()) {
        place.remove_prefix(1);
        const auto number = parse_number(place);
        if (place.size() > 5 || !number || *number < 1 || *number > 65535) return bad;
        url.port = place;
    }
    if (url.host.empty() || url.host.size() > 253) return bad;
    return url;
}

Result<WebReply> fetch(const WebRequest& request, const std::atomic<bool>& stop) noexcept {
    try {
        return fetch_or_throw(request, stop);
    } catch (const Failed& failed) {
        return Error{failed.why};
    } catch (const std::exception& fault) { // a library's, out of memory for example
        return Error{std::string("the question could not be asked: ") + fault.what()};
    }
}

std::optional<WallTime> parse_http_date(std::string_view text) {
    // Sun, 06 Nov 1994 08:49:37 GMT
    constexpr std::string_view kMonths = "JanFebMarAprMayJunJulAugSepOctNovDec";
    if (text.size() != 29 || text.substr(25) != " GMT" || text[3] != ',') return std::nullopt;
    const auto number = [&](std::size_t at, std::size_t count) {
        int value = -1;
        const auto [end, fault] =
            std::from_chars(text.data() + at, text.data() + at + count, value);
        return fault == std::errc{} && end == text.data() + at + count ? value : -1;
    };
    const auto month = kMonths.find(text.substr(8, 3));
    const int day = number(5, 2);
    const int year = number(12, 4);
    const int h = number(17, 2);
    const int m = number(20, 2);
    const int s = number(23, 2);
    if (month == std::string_view::npos || month % 3 != 0 || day < 1 || year < 1970 || h < 0 ||
        h > 23 || m < 0 || m > 59 || s < 0 || s > 60)
        return std::nullopt;
    const Date date{std::chrono::year{year},
                    std::chrono::month{static_cast<unsigned>(month / 3 + 1)},
                    std::chrono::day{static_cast<unsigned>(day)}};
    if (!date.ok()) return std::nullopt;
    return WallTime{std::chrono::sys_days{date}} + Seconds{h * 3600 + m * 60 + s};
}

} // namespace firstmow::weather_source
