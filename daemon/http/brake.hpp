// A brake on guessing keys and codes: who has guessed wrongly ten times within a minute is not
// listened to for the rest of it.
#pragma once

#include "base/time.hpp"
#include "http/message.hpp"

#include <cstddef>
#include <map>
#include <optional>
#include <string>

namespace firstmow::http {

class Brake {
public:
    static constexpr int kWrongPerMinute = 10;
    static constexpr std::size_t kAddressesMax = 256;

    // The refusal when the address has guessed too often.
    std::optional<Reply> check(const std::string& peer, MonoTime now);
    // One more wrong guess; true when it was the one that brakes.
    bool note_wrong(const std::string& peer, MonoTime now);

private:
    struct Guesses {
        MonoTime since;
        int wrong = 0;
    };
    std::map<std::string, Guesses> guesses_; // by address (IPv6: its /64)
};

} // namespace firstmow::http
