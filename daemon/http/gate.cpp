#include "http/gate.hpp"

#include "base/check.hpp"
#include "http/problem.hpp"

#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <utility>

namespace firstmow::http {
namespace {

constexpr std::string_view kCookie = "firstmow_session";

std::string lower(std::string_view text) {
    std::string out{text};
    for (char& c : out)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + ('a' - 'A'));
    return out;
}

// The name or address of a Host value, without port and brackets; nothing when it is malformed.
std::optional<std::string> host_name(std::string_view host) {
    std::string_view name = host;
    std::string_view rest;
    const bool bracketed = host.starts_with('[');
    if (bracketed) {
        const auto end = host.find(']');
        if (end == std::string_view::npos) return std::nullopt;
        name = host.substr(1, end - 1);
        rest = host.substr(end + 1);
    } else if (const auto colon = host.find(':'); colon != std::string_view::npos) {
        name = host.substr(0, colon);
        rest = host.substr(colon);
    }
    if (!rest.empty()) {
        const bool port =
            rest.size() >= 2 && rest.size() <= 6 && rest.front() == ':' &&
            std::all_of(rest.begin() + 1, rest.end(), [](char c) { return c >= '0' && c <= '9'; });
        if (!port) return std::nullopt;
    }
    if (name.empty() || (bracketed && !is_ip_literal(name))) return std::nullopt;
    return lower(name);
}

std::string_view cookie_value(std::string_view cookies, std::string_view name) {
    while (!cookies.empty()) {
        const auto end = cookies.find(';');
        std::string_view pair = cookies.substr(0, end);
        while (pair.starts_with(' '))
            pair.remove_prefix(1);
        if (pair.size() > name.size() && pair.starts_with(name) && pair[name.size()] == '=')
            return pair.substr(name.size() + 1);
        if (end == std::string_view::npos) break;
        cookies.remove_prefix(end + 1);
    }
    return {};
}

// What stands behind "Bearer "; empty when it is another scheme, or nothing.
std::string_view bearer(std::string_view authorization) {
    constexpr std::string_view kScheme = "bearer ";
    if (lower(authorization.substr(0, kScheme.size())) != kScheme) return {};
    return authorization.substr(kScheme.size());
}

Reply unauthorized(const std::string& detail) {
    Reply reply = problem(401, "not-signed-in", detail);
    reply.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"firstmow\"");
    return reply;
}

std::string set_cookie(std::string_view id, std::int64_t life_s) {
    return std::string(kCookie) + '=' + std::string(id) + "; Max-Age=" + std::to_string(life_s) +
           "; Path=/; HttpOnly; SameSite=Strict";
}

} // namespace

Gate::Gate(AccessSettings settings)
    : key_sha256_(lower(settings.key_sha256)),
      station_key_sha256_(lower(settings.station_key_sha256)),
      reads_closed_(settings.reads_closed),
      told_(std::move(settings.told)) {
    CHECK(key_sha256_.empty() || key_sha256_.size() == 64);
    CHECK(station_key_sha256_.empty() || station_key_sha256_.size() == 64);
    if (!settings.folder.empty()) book_.emplace(std::move(settings.folder));
    own_names_ = {"localhost"};
    char machine[256] = {};
    if (gethostname(machine, sizeof machine - 1) == 0 && machine[0] != '\0') {
        const std::string name = lower(machine);
        own_names_.push_back(name);
        if (name.find('.') == std::string::npos) own_names_.push_back(name + ".local");
    }
    set(std::move(settings.host_names), reads_closed_);
}

void Gate::set(std::vector<std::string> host_names, bool reads_closed) {
    names_ = own_names_;
    for (const std::string& name : host_names)
        names_.push_back(lower(name));
    reads_closed_ = reads_closed;
}

void Gate::tell(const std::string& sentence) const {
    if (told_) told_(sentence);
}

std::optional<Reply> Gate::check_host(const Request& request) const {
    const auto name = host_name(request.host);
    if (!name)
        return problem(400, "bad-host",
                       "the request has no usable Host header; send the address that is asked");
    // A page of another site can make its own name point here, but never a literal address.
    if (is_ip_literal(*name)) return std::nullopt;
    if (std::find(names_.begin(), names_.end(), *name) != names_.end()) return std::nullopt;
    return problem(421, "foreign-host",
                   "this garden does not answer to the name " + *name +
                       "; use its address, or write the name into [access] names of the garden "
                       "file");
}

std::optional<Reply> Gate::check_origin(const Request& request) const {
    const std::string_view origin = request.header("origin");
    if (origin.empty()) return std::nullopt;
    const std::string host = lower(request.host);
    const std::string sent = lower(origin);
    // https: a proxy in front may add TLS; the host is then still our own.
    if (sent == "http://" + host || sent == "https://" + host) return std::nullopt;
    return problem(403, "foreign-origin",
                   "orders from a page of another site are refused; use the garden's own page");
}

std::optional<Reply> Gate::check_read(const Request& request, Now now) {
    if (!reads_closed_) return std::nullopt;
    return check_signed(request, now);
}

std::optional<Reply> Gate::check_write(const Request& request, Now now) {
    if (key_sha256_.empty())
        return problem(403, "no-key",
                       "no key is set in the daemon, so nobody may give orders; "
                       "set a key and start the daemon again");
    return check_signed(request, now);
}

std::optional<Reply> Gate::check_signed(const Request& request, Now now) {
    const std::string_view authorization = request.header("authorization");
    if (authorization.empty()) {
        if (signed_in(request, now)) return std::nullopt;
        return unauthorized("this needs a key of the garden: send \"Authorization: Bearer KEY\" or "
                            "sign in on the page");
    }
    const std::string_view key = bearer(authorization);
    if (key.empty()) return unauthorized("send the key as \"Authorization: Bearer KEY\"");
    if (auto braked = brake_.check(request.peer, now.mono)) return braked;
    if (is_first_key(key) || (book_ && book_->key_hash(key))) return std::nullopt;
    note_wrong(request.peer, now.mono);
    return unauthorized("the key is wrong, or has been revoked");
}

std::optional<Reply> Gate::check_station(const Request& request, std::string_view key,
                                         MonoTime now) {
    if (station_key_sha256_.empty())
        return problem(403, "no-station-key",
                       "no station is heard here; the garden file would "
                       "name a weather source of kind \"push\" when the daemon starts");
    if (key.empty())
        return unauthorized("send the station's key: \"Authorization: Bearer KEY\", or PASSWORD, "
                            "PASSKEY or key in the query");
    if (auto braked = brake_.check(request.peer, now)) return braked;
    if (access::same(sha256_hex(key), station_key_sha256_)) return std::nullopt;
    note_wrong(request.peer, now);
    return unauthorized("the key is wrong; it is the one that was set up with the daemon");
}

std::optional<Reply> Gate::check_feed(const Request& request, std::string_view address, Now now) {
    if (auto braked = brake_.check(request.peer, now.mono)) return braked;
    if (book_ && book_->is_feed(address)) return std::nullopt;
    note_wrong(request.peer, now.mono);
    return problem(404, "no-such-address",
                   "there is no calendar at this address (any more); the page of the season gives "
                   "a new one to who is signed in");
}

std::optional<WallTime> Gate::feed_made() const {
    return book_ ? book_->feed_made() : std::nullopt;
}

Result<std::string> Gate::make_feed(WallTime now) {
    if (!book_) return Error{"no folder is set for who may come in"};
    return book_->make_feed(now);
}

void Gate::end_feed() {
    if (book_) book_->end_feed();
}

bool Gate::is_first_key(std::string_view key) const {
    return !key_sha256_.empty() && access::same(sha256_hex(key), key_sha256_);
}

void Gate::note_wrong(const std::string& peer, MonoTime now) {
    if (brake_.note_wrong(peer, now))
        tell(std::to_string(Brake::kWrongPerMinute) + " wrong keys or codes came from " + peer +
             " within a minute; it is not listened to for the rest of it.");
}

Gate::Pass Gate::pass(const Request& request, Now now) const {
    Pass pass;
    const std::string_view authorization = request.header("authorization");
    if (!authorization.empty()) {
        const std::string_view key = bearer(authorization);
        pass.first_key = is_first_key(key);
        if (const auto hash = book_ ? book_->key_hash(key) : std::nullopt) pass.key_hash = *hash;
    } else if (signed_in(request, now)) {
        pass.session = cookie_value(request.header("cookie"), kCookie);
    }
    return pass;
}

bool Gate::still_good(const Pass& pass, Now now) const {
    if (pass.first_key) return true;
    if (!pass.key_hash.empty()) return book_ && book_->has_key(pass.key_hash);
    if (!pass.session.empty()) return book_ && book_->session(pass.session, now.wall);
    return !reads_closed_;
}

Reply Gate::sign_in(const Request& request, std::string_view secret, Now now) {
    if (key_sha256_.empty() || !book_)
        return problem(403, "no-key", "no key is set in the daemon; set one and start it again");
    if (auto braked = brake_.check(request.peer, now.mono)) return std::move(*braked);
    if (is_first_key(secret)) return let_in({}, now);
    if (const auto hash = book_->key_hash(secret)) return let_in(*hash, now);
    if (const auto code = access::as_code(secret)) return guess_code(request, *code, now);
    note_wrong(request.peer, now.mono);
    return unauthorized("the key or code is wrong; \"firstmow pair\" on the garden's machine makes "
                        "a code");
}

Reply Gate::guess_code(const Request& request, std::string_view code, Now now) {
    using Guess = access::Book::Guess;
    const Guess guess = book_->guess_code(code, now.mono);
    if (guess == Guess::right) {
        tell("A browser at " + request.peer + " signed in with the pairing code.");
        return let_in({}, now);
    }
    note_wrong(request.peer, now.mono);
    constexpr const char* kAnother = "; \"firstmow pair\" on the garden's machine makes another";
    if (guess == Guess::wrong)
        return unauthorized(std::string("the code is wrong; look at it again") + kAnother);
    if (guess == Guess::no_code)
        return unauthorized(std::string("no such code is good now: each is good once, and for 15 "
                                        "minutes") +
                            kAnother);
    tell("The pairing code was guessed at " + std::to_string(access::Book::kWrongCodesMax) +
         " times, last from " + request.peer + ", and is good no more.");
    return unauthorized(std::string("the code was tried wrongly too often and is good no more") +
                        kAnother);
}

Reply Gate::let_in(const std::string& key_hash, Now now) {
    const Result<std::string> id = book_->begin_session(now.wall, key_hash);
    if (!id) {
        tell("A browser could not be signed in: " + id.error().message + ".");
        return problem(503, "not-kept", "the daemon cannot keep the sign-in; its log says why");
    }
    Reply reply;
    reply.content_type = "application/json";
    reply.body = "{\"signed_in\":true}\n";
    reply.headers.emplace_back("Set-Cookie",
                               set_cookie(*id, Seconds(access::Book::kSessionLife).count()));
    return reply;
}

Reply Gate::sign_out(const Request& request) {
    if (book_) book_->end_session(cookie_value(request.header("cookie"), kCookie));
    Reply reply;
    reply.content_type = "application/json";
    reply.body = "{\"signed_in\":false}\n";
    reply.headers.emplace_back("Set-Cookie", set_cookie("", 0));
    return reply;
}

bool Gate::signed_in(const Request& request, Now now) const {
    return book_ && book_->session(cookie_value(request.header("cookie"), kCookie), now.wall);
}

Reply Gate::session(const Request& request, Now now) {
    const std::string_view id = cookie_value(request.header("cookie"), kCookie);
    const auto session = book_ ? book_->session(id, now.wall) : std::nullopt;
    Reply reply;
    reply.content_type = "application/json";
    reply.body = session ? "{\"signed_in\":true}\n" : "{\"signed_in\":false}\n";
    // Once a day is enough, and keeps the writing rare.
    const auto life = access::Book::kSessionLife;
    if (session && session->end - now.wall < life - std::chrono::hours(24) &&
        book_->renew_session(id, now.wall))
        reply.headers.emplace_back("Set-Cookie", set_cookie(id, Seconds(life).count()));
    return reply;
}

} // namespace firstmow::http
