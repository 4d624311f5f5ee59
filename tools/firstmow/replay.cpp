#include "commands.hpp"

#include "journal/replay.hpp"

#include <cstdio>
#include <unistd.h>

namespace firstmow::companion {

int replay(const ReplayOptions& options) {
    if (::access(options.db.c_str(), R_OK) != 0)
        return complain(options.db + ": there is no such journal that can be read");
    store::OpenOptions open;
    open.read_only = true;
    Result<store::Store> store = store::Store::open(options.db, open);
    if (!store) return complain(store.error().message);
    Result<journal::Verdict> verdict = journal::verify(*store);
    if (!verdict) return complain(verdict.error().message, kNotDone);
    std::printf("%lld steps re-run: %lld decisions and %lld cycles %s\n",
                static_cast<long long>(verdict->steps), static_cast<long long>(verdict->decisions),
                static_cast<long long>(verdict->cycles),
                verdict->same() ? "came out the same" : "did not all come out the same");
    for (const std::string& difference : verdict->differences)
        std::fprintf(stderr, "firstmow: %s\n", difference.c_str());
    return verdict->same() || !options.verify ? kDone : kNotDone;
}

} // namespace firstmow::companion
