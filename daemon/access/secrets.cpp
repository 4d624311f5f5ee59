#include "access/secrets.hpp"

#include "base/check.hpp"

#include <openssl/crypto.h>
#include <openssl/evp.h>

#include <array>
#include <cstdint>
#include <span>
#include <sys/random.h>

namespace firstmow::access {
namespace {

// Without 0 O Q D, 1 I L J, 2 Z, 5 S, 8 B, U V, G 6: read aloud or off a bad screen they get mixed
// up.
constexpr std::string_view kLetters = "ACEFHKMNPRTWXY3479";
constexpr std::size_t kCodeLength = 8;

std::string hex(std::span<const std::uint8_t> bytes) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string out;
    for (const std::uint8_t byte : bytes) {
        out += digits[byte >> 4U];
        out += digits[byte & 15U];
    }
    return out;
}

// Whether all of it was filled. Never waits: early after the power came on there may be none.
bool fill(std::span<std::uint8_t> bytes) {
    return ::getrandom(bytes.data(), bytes.size(), GRND_NONBLOCK) ==
           static_cast<ssize_t>(bytes.size());
}

const Error kNone{"the system gives no random numbers yet; try again in a moment"};

} // namespace

std::string sha256_hex(std::string_view text) {
    std::array<std::uint8_t, 32> hash{};
    unsigned int length = 0;
    CHECK(EVP_Digest(text.data(), text.size(), hash.data(), &length, EVP_sha256(), nullptr) == 1);
    CHECK(length == hash.size());
    return hex(hash);
}

bool same(std::string_view a, std::string_view b) {
    return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

Result<std::string> new_key() {
    std::array<std::uint8_t, 16> random{};
    if (!fill(random)) return kNone;
    return hex(random);
}

Result<std::string> new_code() {
    // A byte beyond the last whole round of letters is thrown away: each is as likely as the next.
    constexpr std::size_t kFair = 256 - 256 % kLetters.size();
    std::string code;
    while (code.size() < kCodeLength) {
        std::array<std::uint8_t, 16> random{};
        if (!fill(random)) return kNone;
        for (const std::uint8_t byte : random)
            if (byte < kFair && code.size() < kCodeLength) code += kLetters[byte % kLetters.size()];
    }
    return code.substr(0, kCodeLength / 2) + '-' + code.substr(kCodeLength / 2);
}

std::optional<std::string> as_code(std::string_view typed) {
    std::string code;
    for (char c : typed) {
        if (c == '-' || c == ' ') continue;
        if (c >= 'a' && c <= 'z') c = static_cast<char>(c - ('a' - 'A'));
        if (kLetters.find(c) == std::string_view::npos || code.size() == kCodeLength)
            return std::nullopt;
        code += c;
    }
    if (code.size() != kCodeLength) return std::nullopt;
    return code;
}

} // namespace firstmow::access
