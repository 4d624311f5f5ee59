// Who may do what: the Host header against DNS rebinding, the Origin header against forged
// requests, the key or a signed-in session for every write, and a brake on guessing the key.
//
// Sessions live in memory only; a restart asks for the key again.
#pragma once

#include "base/time.hpp"
#include "http/message.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::http {

struct AccessSettings {
    // SHA-256 of the key, 64 hexadecimal digits. Empty: no key is set and every write is refused.
    std::string key_sha256{};
    // The same of the key that a weather station gives: it may tell weather and nothing else.
    // Empty: no station is heard.
    std::string station_key_sha256{};
    // Names beside localhost, the machine's own and literal addresses under which the page may be
    // asked for, without port.
    std::vector<std::string> host_names{};
};

// SHA-256 as 64 lower-case hexadecimal digits.
std::string sha256_hex(std::string_view text);

class Gate {
public:
    static constexpr int kWrongKeysPerMinute = 10;
    static constexpr std::size_t kSessionsMax = 64;
    static constexpr std::size_t kAddressesMax = 256;
    static constexpr std::chrono::hours kSessionLife{30 * 24};

    explicit Gate(AccessSettings settings);

    // Each gives the refusal, or nothing when the request may pass.
    std::optional<Reply> check_host(const Request& request) const;
    std::optional<Reply> check_origin(const Request& request) const;
    std::optional<Reply> check_write(const Request& request, MonoTime now);

    // A station's word: its own key, wherever it carries it.
    std::optional<Reply> check_station(const Request& request, std::string_view key, MonoTime now);

    // Takes the key and gives a reply that sets the cookie, or the refusal.
    Reply sign_in(const Request& request, std::string_view key, MonoTime now);
    Reply sign_out(const Request& request);
    bool signed_in(const Request& request, MonoTime now) const;

private:
    using Hash = std::array<std::uint8_t, 32>;
    struct Guesses {
        MonoTime since;
        int wrong = 0;
    };

    // The refusal when the key is wrong or the address has guessed too often.
    std::optional<Reply> check_key(const std::string& peer, std::string_view key, const Hash& right,
                                   MonoTime now);
    void note_wrong(const std::string& peer, MonoTime now);

    std::optional<Hash> key_hash_;
    std::optional<Hash> station_hash_;
    std::vector<std::string> names_;
    std::map<std::string, MonoTime> sessions_; // id -> end
    std::map<std::string, Guesses> guesses_;   // address (IPv6: its /64) -> wrong keys
};

} // namespace firstmow::http
