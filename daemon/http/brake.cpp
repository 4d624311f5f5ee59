#include "http/brake.hpp"

#include "http/problem.hpp"

#include <arpa/inet.h>

#include <algorithm>

namespace firstmow::http {
namespace {

// One household has one /64: a guesser cannot hide behind its billions of addresses.
std::string guesser(const std::string& peer) {
    in6_addr address{};
    if (inet_pton(AF_INET6, peer.c_str(), &address) != 1 || IN6_IS_ADDR_V4MAPPED(&address))
        return peer;
    return {reinterpret_cast<const char*>(address.s6_addr), 8};
}

} // namespace

std::optional<Reply> Brake::check(const std::string& peer, MonoTime now) {
    const auto it = guesses_.find(guesser(peer));
    if (it == guesses_.end() || it->second.wrong < kWrongPerMinute) return std::nullopt;
    const auto left = it->second.since + std::chrono::minutes(1) - now;
    if (left <= Millis(0)) {
        guesses_.erase(it);
        return std::nullopt;
    }
    Reply reply = problem(429, "too-many-guesses",
                          "too many wrong keys or codes from this address; wait a minute");
    const auto seconds = std::chrono::ceil<Seconds>(left).count();
    reply.headers.emplace_back("Retry-After", std::to_string(seconds));
    return reply;
}

bool Brake::note_wrong(const std::string& peer, MonoTime now) {
    std::erase_if(guesses_, [&](const auto& entry) {
        return now - entry.second.since >= std::chrono::minutes(1);
    });
    const std::string who = guesser(peer);
    if (!guesses_.contains(who) && guesses_.size() >= kAddressesMax)
        guesses_.erase(
            std::min_element(guesses_.begin(), guesses_.end(), [](const auto& a, const auto& b) {
                return a.second.since < b.second.since;
            }));
    return ++guesses_.try_emplace(who, Guesses{now, 0}).first->second.wrong == kWrongPerMinute;
}

} // namespace firstmow::http
