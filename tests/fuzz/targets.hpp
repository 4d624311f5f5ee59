// What reads texts of strangers, each as a function of bytes: for libFuzzer (tests/fuzz/main.cpp)
// and for the corpus that is an ordinary test (tests/fuzz/corpus_test.cpp).
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace firstmow::fuzz {

struct Target {
    const char* name; // also the folder of its corpus
    void (*read)(std::string_view text);
};
std::span<const Target> targets();

} // namespace firstmow::fuzz
