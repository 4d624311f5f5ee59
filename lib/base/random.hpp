// Seeded random numbers that are the same on every machine.
//
// The standard library's engines are specified bit for bit, its distributions are not; so the
// distributions are ours.
#pragma once

#include <cstdint>

namespace firstmow {

class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    // 64 uniform bits (the splitmix64 generator: Steele, Lea, Flood 2014).
    std::uint64_t bits();
    // Uniform in [0, 1).
    double uniform();
    double uniform(double low, double high) { return low + (high - low) * uniform(); }
    // Standard normal (Box and Muller 1958).
    double normal();

private:
    std::uint64_t state_;
};

} // namespace firstmow
