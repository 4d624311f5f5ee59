// Independent pieces of work on a few threads; what they return stands in order.
#pragma once

#include <atomic>
#include <cstddef>
#include <thread>
#include <vector>

namespace firstmow::bench {

// work(i) for i in [0, count); the order is open, each i once. Work must not throw.
template <typename Work>
void side_by_side(std::size_t count, int threads, Work&& work) {
    std::atomic<std::size_t> next{0};
    const auto take = [&] {
        for (std::size_t i = next++; i < count; i = next++)
            work(i);
    };
    std::vector<std::jthread> more;
    for (int t = 1; t < threads; ++t)
        more.emplace_back(take);
    take();
}

} // namespace firstmow::bench
