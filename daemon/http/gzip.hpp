// Replies packed with gzip, for who accepts it: a page on weak signal waits for bytes.
#pragma once

#include "http/message.hpp"

#include <string>
#include <string_view>

namespace firstmow::http {

bool accepts_gzip(const Request& request);

// Empty when it cannot be done (out of memory).
std::string gzip(std::string_view text);

// Packs the reply's own body when it is worth it: text, neither too short to gain by it nor so
// long that the loop would be held up. Says so in its headers, also that the answer hangs on what
// was accepted.
void pack(Reply& reply, bool accepted);

} // namespace firstmow::http
