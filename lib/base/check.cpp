#include "base/check.hpp"

#include <cstdio>
#include <cstdlib>

namespace firstmow {

void check_failed(const char* condition, const char* file, int line) {
    std::fprintf(stderr, "%s:%d: broken promise: %s\n", file, line, condition);
    std::abort();
}

} // namespace firstmow
