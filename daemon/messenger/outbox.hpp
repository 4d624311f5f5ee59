// Letters that wait, and the file in which they outlive the daemon. Inside of the room.
#pragma once

#include <deque>
#include <map>
#include <string>

namespace firstmow::messenger {

struct Waiting {
    std::string body;
    int tries = 0; // so far
};

// By the URL for which they wait, oldest first.
using Outbox = std::map<std::string, std::deque<Waiting>>;

// Empty when there is no such file, or it cannot be understood.
Outbox read_outbox(const std::string& file);
// False when it could not be written. An empty outbox is no file.
bool write_outbox(const std::string& file, const Outbox& outbox);

} // namespace firstmow::messenger
