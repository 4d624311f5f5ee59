// How the daemon was started.
#pragma once

#include <cstdint>
#include <string>

namespace firstmow::app {

struct Options {
    std::string garden;
    std::string state_dir;
    std::string address = "127.0.0.1";
    std::uint16_t port = 8080;
};

} // namespace firstmow::app
