#include "base/random.hpp"
#include "base/text.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

using namespace firstmow;

TEST_CASE("numbers are written alike in every locale and never as minus zero") {
    CHECK_EQ(fixed(1.005, 1), "1.0");
    CHECK_EQ(fixed(-0.0004, 3), "0.000");
    CHECK_EQ(fixed(-1.25, 2), "-1.25");
    CHECK_EQ(fixed(1e20, 0), "100000000000000000000");
}

TEST_CASE("only a whole finite decimal number is a number") {
    CHECK_EQ(parse_number("12.5").value(), 12.5);
    for (const char* wrong : {"", " 1", "1 ", "nan", "inf", "0x10", "1,5", "1e999"})
        CHECK_FALSE(parse_number(wrong).has_value());
}

TEST_CASE("fields are split at commas, quoted only where they must be") {
    const auto fields = split_commas("a,,c\r");
    REQUIRE_EQ(fields.size(), 3);
    CHECK_EQ(fields[1], "");
    CHECK_EQ(fields[2], "c");
    CHECK_EQ(csv_field("plain"), "plain");
    CHECK_EQ(csv_field("a \"b\", c"), "\"a \"\"b\"\", c\"");
}

TEST_CASE("a misspelt word finds its neighbour, a foreign one none") {
    constexpr std::array<std::string_view, 3> known{"latitude", "longitude", "elevation"};
    CHECK_EQ(nearest("lattitude", known).value(), "latitude");
    CHECK_EQ(nearest("elevatoin", known).value(), "elevation");
    CHECK_FALSE(nearest("colour", known).has_value());
}

TEST_CASE("random numbers repeat with their seed and have the moments they should") {
    Random a(7);
    Random b(7);
    double sum = 0;
    double squares = 0;
    for (int i = 0; i < 20000; ++i) {
        const double x = a.normal();
        CHECK_EQ(x, b.normal());
        sum += x;
        squares += x * x;
    }
    CHECK(std::abs(sum / 20000) < 0.03);
    CHECK(std::abs(squares / 20000 - 1) < 0.04);
}
