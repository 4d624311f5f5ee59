#include "app/token.hpp"

#include "host/files.hpp"

#include <array>
#include <sys/random.h>
#include <unistd.h>

namespace firstmow::app {

Result<std::string> load_or_make_token(const std::string& path) {
    constexpr std::size_t kShortest = 16;
    if (::access(path.c_str(), F_OK) == 0) {
        Result<std::string> text = host::read_file(path, 4096);
        if (!text) return text.error();
        while (!text->empty() && (text->back() == '\n' || text->back() == '\r'))
            text->pop_back();
        if (text->size() < kShortest)
            return Error{path + ": the key is shorter than 16 characters; delete the file to have "
                                "a new one made"};
        return std::move(*text);
    }
    std::array<unsigned char, 16> random{};
    if (::getrandom(random.data(), random.size(), 0) != static_cast<ssize_t>(random.size()))
        return Error{"the system gives no random numbers for a key"};
    std::string token;
    for (const unsigned char byte : random) {
        constexpr char kHex[] = "0123456789abcdef";
        token += kHex[byte >> 4];
        token += kHex[byte & 15];
    }
    if (const Status written = host::write_file(path, token + "\n", 0600); !written)
        return written.error();
    return token;
}

} // namespace firstmow::app
