// libFuzzer's door: FIRSTMOW_FUZZ_TARGET names the reader. Built with clang and FIRSTMOW_FUZZ only.
#include "targets.hpp"

#include <cstdint>
#include <cstdlib>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static void (*const read)(std::string_view) = [] {
        for (const auto& target : firstmow::fuzz::targets())
            if (std::string_view(target.name) == FIRSTMOW_FUZZ_TARGET) return target.read;
        std::abort();
    }();
    read({reinterpret_cast<const char*>(data), size});
    return 0;
}
