#include "http/gate.hpp"

#include "base/check.hpp"
#include "http/problem.hpp"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/rand.h>

#include <arpa/inet.h>
#include <unistd.h>

#include <algorithm>
#include <span>

namespace firstmow::http {
namespace {

constexpr std::string_view kCookie = "firstmow_session";

std::array<std::uint8_t, 32> sha256(std::string_view text) {
    std::array<std::uint8_t, 32> hash{};
    unsigned int length = 0;
    CHECK(EVP_Digest(text.data(), text.size(), hash.data(), &length, EVP_sha256(), nullptr) == 1);
    CHECK(length == hash.size());
    return hash;
}

std::string hex(std::span<const std::uint8_t> bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string out;
    for (const std::uint8_t byte : bytes) {
        out += digits[byte >> 4U];
        out += digits[byte & 15U];
    }
    return out;
}

int digit_of(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

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

// Nothing when there are no digits.
std::optional<std::array<std::uint8_t, 32>> hash_of(std::string_view digits) {
    if (digits.empty()) return std::nullopt;
    std::array<std::uint8_t, 32> hash{};
    CHECK(digits.size() == 2 * hash.size());
    for (std::size_t i = 0; i < hash.size(); ++i) {
        const int high = digit_of(digits[2 * i]);
        const int low = digit_of(digits[2 * i + 1]);
        CHECK(high >= 0 && low >= 0);
        hash[i] = static_cast<std::uint8_t>(high * 16 + low);
    }
    return hash;
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

// One household has one /64: a guesser cannot hide behind its billions of addresses.
std::string guesser(const std::string& peer) {
    in6_addr address{};
    if (inet_pton(AF_INET6, peer.c_str(), &address) != 1 || IN6_IS_ADDR_V4MAPPED(&address))
        return peer;
    return hex(std::span(address.s6_addr, 8));
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

std::string sha256_hex(std::string_view text) {
    return hex(sha256(text));
}

Gate::Gate(AccessSettings settings)
    : key_hash_(hash_of(settings.key_sha256)), station_hash_(hash_of(settings.station_key_sha256)) {
    names_ = {"localhost"};
    char machine[256] = {};
    if (gethostname(machine, sizeof machine - 1) == 0 && machine[0] != '\0') {
        const std::string name = lower(machine);
        names_.push_back(name);
        if (name.find('.') == std::string::npos) names_.push_back(name + ".local");
    }
    for (const std::string& name : settings.host_names)
        names_.push_back(lower(name));
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
                       "; use its address, or add the name to the daemon's host names");
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

std::optional<Reply> Gate::check_write(const Request& request, MonoTime now) {
    if (!key_hash_)
        return problem(403, "no-key",
                       "no key is set in the daemon, so nobody may give orders; "
                       "set a key and start the daemon again");
    const std::string_view authorization = request.header("authorization");
    if (!authorization.empty()) {
        constexpr std::string_view scheme = "bearer ";
        if (lower(authorization.substr(0, scheme.size())) != scheme)
            return unauthorized("send the key as \"Authorization: Bearer KEY\"");
        return check_key(request.peer, authorization.substr(scheme.size()), *key_hash_, now);
    }
    if (signed_in(request, now)) return std::nullopt;
    return unauthorized("this needs the garden's key: send \"Authorization: Bearer KEY\" or sign "
                        "in on the page");
}

std::optional<Reply> Gate::check_station(const Request& request, std::string_view key,
                                         MonoTime now) {
    if (!station_hash_)
        return problem(403, "no-station-key",
                       "no station is heard here; the garden file would "
                       "name a weather source of kind \"push\" when the daemon starts");
    if (key.empty())
        return unauthorized("send the station's key: \"Authorization: Bearer KEY\", or PASSWORD, "
                            "PASSKEY or key in the query");
    return check_key(request.peer, key, *station_hash_, now);
}

std::optional<Reply> Gate::check_key(const std::string& peer, std::string_view key,
                                     const Hash& right, MonoTime now) {
    const auto it = guesses_.find(guesser(peer));
    if (it != guesses_.end() && it->second.wrong >= kWrongKeysPerMinute) {
        const auto left = it->second.since + std::chrono::minutes(1) - now;
        if (left > Millis(0)) {
            Reply reply = problem(429, "too-many-guesses",
                                  "too many wrong keys from this address; wait a minute");
            const auto seconds = std::chrono::ceil<Seconds>(left).count();
            reply.headers.emplace_back("Retry-After", std::to_string(seconds));
            return reply;
        }
        guesses_.erase(it);
    }
    const Hash hash = sha256(key);
    if (CRYPTO_memcmp(hash.data(), right.data(), hash.size()) == 0) return std::nullopt;
    note_wrong(peer, now);
    return unauthorized("the key is wrong; it is the one that was set up with the daemon");
}

void Gate::note_wrong(const std::string& peer, MonoTime now) {
    std::erase_if(guesses_, [&](const auto& entry) {
        return now - entry.second.since >= std::chrono::minutes(1);
    });
    const std::string who = guesser(peer);
    if (!guesses_.contains(who) && guesses_.size() >= kAddressesMax)
        guesses_.erase(
            std::min_element(guesses_.begin(), guesses_.end(), [](const auto& a, const auto& b) {
                return a.second.since < b.second.since;
            }));
    Guesses& guesses = guesses_.try_emplace(who, Guesses{now, 0}).first->second;
    ++guesses.wrong;
}

Reply Gate::sign_in(const Request& request, std::string_view key, MonoTime now) {
    if (!key_hash_)
        return problem(403, "no-key", "no key is set in the daemon; set one and start it again");
    if (auto refusal = check_key(request.peer, key, *key_hash_, now)) return *refusal;
    std::erase_if(sessions_, [&](const auto& session) { return session.second <= now; });
    if (sessions_.size() >= kSessionsMax)
        sessions_.erase(
            std::min_element(sessions_.begin(), sessions_.end(),
                             [](const auto& a, const auto& b) { return a.second < b.second; }));
    std::array<std::uint8_t, 16> random{};
    if (RAND_bytes(random.data(), static_cast<int>(random.size())) != 1)
        return problem(503, "no-randomness", "the system gives no random numbers yet; try again");
    const std::string id = hex(random);
    sessions_[id] = now + kSessionLife;
    Reply reply;
    reply.content_type = "application/json";
    reply.body = "{\"signed_in\":true}\n";
    reply.headers.emplace_back("Set-Cookie", set_cookie(id, Seconds(kSessionLife).count()));
    return reply;
}

Reply Gate::sign_out(const Request& request) {
    const std::string_view id = cookie_value(request.header("cookie"), kCookie);
    sessions_.erase(std::string(id));
    Reply reply;
    reply.content_type = "application/json";
    reply.body = "{\"signed_in\":false}\n";
    reply.headers.emplace_back("Set-Cookie", set_cookie("", 0));
    return reply;
}

bool Gate::signed_in(const Request& request, MonoTime now) const {
    const std::string_view id = cookie_value(request.header("cookie"), kCookie);
    const auto it = sessions_.find(std::string(id));
    return it != sessions_.end() && it->second > now;
}

} // namespace firstmow::http
