// The keeper's surroundings: the socket to the daemon, what the process needs and what it drops.
#pragma once

#include "keeper/keeper.hpp"

#include <cstddef>
#include <cstdint>

namespace firstmow::keeper {

inline constexpr int kSocket = 3; // the keeper's end of the pair is moved there

// Counts through suspend.
std::int64_t boot_ms();

// One line on stderr, without allocation.
void say(const char* what, int error = 0);

// Takes the socket, gives up what is not needed, dies with `parent`, locks the memory. False: the
// parent is gone.
bool settle(int parent, int socket);
// Has a signal asked the keeper to end? (It closes everything first.)
bool told_to_end();

enum class Heard : std::uint8_t { nothing, message, gone };
// Waits for a message until boot_ms() says `until_ms`, or `wake` (if not -1) is readable. `size` is
// how long it was, also when it did not fit into the buffer.
Heard wait_for(void* buffer, std::size_t room, std::size_t& size, std::int64_t until_ms, int wake);
// A daemon that does not read is not waited for: the next beat's reply says what is open.
void send(const Reply& reply);

} // namespace firstmow::keeper
