// What a garden file says of the way in and out: who may read, under which names the page is asked
// for, and which other programs are told what happens. No part of the Garden: nothing of it may
// change what is watered.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

class Errors;
struct Node;

// What other programs may be told.
enum class Topic : std::uint8_t { alarm, phase, dry_risk, daily_review };
inline constexpr std::size_t kTopics = 4;
std::string_view key(Topic topic); // as files write it

// An address for letters.
struct Address {
    std::string url; // http:// or https://, no blanks
    std::array<bool, kTopics> topics{};
    bool wants(Topic topic) const { return topics[static_cast<std::size_t>(topic)]; }
};
// "https://example.org": of a URL what may stand in a log; its path may hold a secret.
std::string place_of(std::string_view url);

struct Reach {
    bool reads_closed = false;           // reads too need a key or a sign-in
    std::vector<std::string> host_names; // lower case, without port
    std::vector<Address> addresses;
};

// Of a text that read() has found no error in.
Reach read_reach(std::string_view toml_text);

// Inside of the room: adds what the table [access] says.
void read_access(const Node& table, Reach& reach, Errors& errors);
// ... and what the tables [[tell]], here or there, say.
void read_tell(const Node& value, Reach& reach, Errors& errors);

} // namespace firstmow::garden
