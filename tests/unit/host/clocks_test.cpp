#include "host/clocks.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using host::clock_is_plausible;

namespace {
WallTime at(const char* text) {
    return *parse_iso8601(text);
}
} // namespace

TEST_CASE("a clock that nobody has set is not the time") {
    CHECK_FALSE(clock_is_plausible(at("1970-01-01T00:00:10Z"), std::nullopt));
    CHECK_FALSE(clock_is_plausible(at("2019-02-14T10:11:59Z"), std::nullopt));
    CHECK(clock_is_plausible(at("2026-08-22T12:00:00Z"), std::nullopt));
}

TEST_CASE(
    "a clock that lies before what the journal knows is not the time, but it may slip a little") {
    const WallTime known = at("2026-08-22T12:00:00Z");
    CHECK_FALSE(clock_is_plausible(at("2026-08-20T12:00:00Z"), known));
    CHECK(clock_is_plausible(at("2026-08-22T11:00:00Z"), known));
    CHECK(clock_is_plausible(at("2026-08-23T12:00:00Z"), known));
}

TEST_CASE("the clocks of this machine go forward") {
    const MonoTime before = host::mono_now();
    CHECK(host::mono_now() >= before);
    CHECK(clock_is_plausible(host::wall_now(), std::nullopt));
}
