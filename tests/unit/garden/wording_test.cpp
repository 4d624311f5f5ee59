#include "garden/wording.hpp"

#include <doctest/doctest.h>

#include <array>

using namespace firstmow::garden;

TEST_CASE("quoted text is one short printable line") {
    CHECK_EQ(in_quotes("loam"), "\"loam\"");
    CHECK_EQ(in_quotes("a\nb\x1b[2J"), "\"a?b?[2J\"");
    CHECK_EQ(in_quotes("\xc3\xa4\xff\xc3"), "\"\xc3\xa4??\"");
    CHECK_EQ(in_quotes(std::string(100, 'x')), '"' + std::string(60, 'x') + "...\"");
}

TEST_CASE("a hint is the nearest word, or all of them") {
    constexpr std::array<std::string_view, 3> words{"seed", "overseed", "sod"};
    CHECK_EQ(hint("sedd", words), "did you mean \"seed\"?");
    CHECK_EQ(hint("hydromulching", words),
             "one of \"seed\", \"overseed\" or \"sod\" would be right");
    CHECK_EQ(hint("x", words), "one of \"seed\", \"overseed\" or \"sod\" would be right");
}

TEST_CASE("numbers are written as people write them") {
    CHECK_EQ(plain(0.1), "0.1");
    CHECK_EQ(plain(-90), "-90");
    CHECK_EQ(plain(100000), "100000");
}
