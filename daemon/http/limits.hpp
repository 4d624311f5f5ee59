// How much of everything the server bears.
#pragma once

#include "base/time.hpp"

#include <cstddef>
#include <cstdint>

namespace firstmow::http {

struct Limits {
    std::size_t connections = 64;
    std::size_t streams = 16;
    std::uint32_t header_bytes = 8 * 1024;
    std::size_t body_bytes = 16 * 1024;
    std::size_t waiting_bytes = 8 * 1024 * 1024; // of all replies being written
    Seconds request_time{15};                    // from the first wait to the end of the request
    Seconds answer_time{15};                     // that the backend may take
    Seconds reply_time{30};                      // to write one reply
    Seconds event_time{15};                      // to write one event to a stream
    Seconds heartbeat{20};
};

} // namespace firstmow::http
