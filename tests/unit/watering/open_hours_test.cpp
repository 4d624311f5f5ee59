#include "watering/open_hours.hpp"

#include "trial_garden.hpp"
#include "weather/sun.hpp"

#undef CHECK
#include <doctest/doctest.h>

using namespace firstmow;
using firstmow::trial::local;
using watering::open_spans;
using watering::Span;

namespace {

// Central European rules of 2026: clocks go on at 01:00 UTC on 29 March, back on 25 October.
TimeZone central_europe() {
    const auto utc = [](const char* text) { return parse_iso8601(text).value(); };
    return TimeZone("Test/Zone", {{WallTime{}, Seconds{3600}, "CET"},
                                  {utc("2026-03-29T01:00:00Z"), Seconds{7200}, "CEST"},
                                  {utc("2026-10-25T01:00:00Z"), Seconds{3600}, "CET"}});
}

garden::Supply supply_of(std::vector<garden::HoursOfDay> hours) {
    garden::Supply supply;
    supply.flow_l_per_min = 20;
    supply.hours = std::move(hours);
    return supply;
}

constexpr int kH = 3600;

std::vector<Span> spans_of(const garden::Supply& supply, WallTime from, WallTime until,
                           int before_sunset_s = 0) {
    return open_spans(supply, trial::local_zone(), trial::place(), Seconds{before_sunset_s}, from,
                      until);
}

WallTime utc(const char* text) {
    return parse_iso8601(text).value();
}

Seconds total(const std::vector<Span>& spans) {
    Seconds sum{0};
    for (const Span& span : spans)
        sum += span.to - span.from;
    return sum;
}

} // namespace

TEST_CASE("open spans: the owner's hours, day by day, clipped to what is asked") {
    const auto supply = supply_of({{6 * kH, 10 * kH}, {16 * kH, 19 * kH}});
    const auto spans = spans_of(supply, local(0, 7), local(2, 6, 30));
    REQUIRE(spans.size() == 5);
    CHECK(spans[0].from == local(0, 7)); // clipped at the front
    CHECK(spans[0].to == local(0, 10));
    CHECK(spans[1].from == local(0, 16));
    CHECK(spans[1].to == local(0, 19));
    CHECK(spans[2].from == local(1, 6));
    CHECK(spans[3].to == local(1, 19));
    CHECK(spans[4].from == local(2, 6));
    CHECK(spans[4].to == local(2, 6, 30)); // clipped at the end
}

TEST_CASE("open spans: nothing to ask for, nothing given") {
    const auto supply = supply_of({{6 * kH, 10 * kH}});
    CHECK(spans_of(supply, local(0, 7), local(0, 7)).empty());
    CHECK(spans_of(supply, local(0, 11), local(1, 5)).empty());
    // The end of a span is not part of it.
    CHECK(spans_of(supply, local(0, 10), local(1, 6)).empty());
}

TEST_CASE("open spans: only on the days that the supply names") {
    // 10 August 2026 is a Monday.
    auto supply = supply_of({{6 * kH, 7 * kH}});
    supply.days = {false, true, false, false, false, false, true}; // Tuesday and Sunday
    const auto spans = spans_of(supply, local(0, 0), local(8, 0));
    REQUIRE(spans.size() == 2);
    CHECK(spans[0].from == local(1, 6));
    CHECK(spans[1].from == local(6, 6));
    supply.days = {};
    CHECK(spans_of(supply, local(0, 0), local(30, 0)).empty());
}

TEST_CASE("open spans: the whole day has 24 hours, 23 in spring, 25 in autumn") {
    const auto supply = supply_of({{0, 24 * kH}});
    const TimeZone zone = central_europe();
    const auto day = [&](const char* from, const char* until) {
        return open_spans(supply, zone, trial::place(), Seconds{0}, utc(from), utc(until));
    };
    CHECK(total(day("2026-03-27T23:00:00Z", "2026-03-28T23:00:00Z")) == Seconds{24 * kH});
    // Local midnight to local midnight across the jump: one span of 23 hours.
    const auto spring = day("2026-03-28T23:00:00Z", "2026-03-29T22:00:00Z");
    REQUIRE(spring.size() == 1);
    CHECK(total(spring) == Seconds{23 * kH});
    const auto autumn = day("2026-10-24T22:00:00Z", "2026-10-25T23:00:00Z");
    REQUIRE(autumn.size() == 1);
    CHECK(total(autumn) == Seconds{25 * kH});
}

TEST_CASE("open spans: hours at the jump of the clocks") {
    const TimeZone zone = central_europe();
    const auto on = [&](int from_s, int to_s, const char* from, const char* until) {
        return open_spans(supply_of({{from_s, to_s}}), zone, trial::place(), Seconds{0}, utc(from),
                          utc(until));
    };
    // 02:00-03:00 does not exist on that day; 02:30-04:00 is the hour from the jump on.
    CHECK(on(2 * kH, 3 * kH, "2026-03-28T23:00:00Z", "2026-03-29T22:00:00Z").empty());
    const auto cut = on(2 * kH + 1800, 4 * kH, "2026-03-28T23:00:00Z", "2026-03-29T22:00:00Z");
    REQUIRE(cut.size() == 1);
    CHECK(cut[0].from == utc("2026-03-29T01:00:00Z"));
    CHECK(cut[0].to == utc("2026-03-29T02:00:00Z"));
    // 06:00 local stays 06:00 on the clock on both sides.
    const auto week = on(6 * kH, 7 * kH, "2026-10-24T22:00:00Z", "2026-10-26T23:00:00Z");
    REQUIRE(week.size() == 2);
    CHECK(week[0].from == utc("2026-10-25T05:00:00Z"));
    CHECK(week[1].from == utc("2026-10-26T05:00:00Z"));
}

TEST_CASE("open spans: the evening limit ends the day's last span ahead of sunset") {
    const auto supply = supply_of({{6 * kH, 10 * kH}, {12 * kH, 23 * kH}});
    const auto sun = weather::sun_times(trial::place(), trial::kSown);
    REQUIRE(sun.sunset);
    const auto spans = spans_of(supply, local(0, 0), local(1, 0), 2 * kH);
    REQUIRE(spans.size() == 2);
    CHECK(spans[0].to == local(0, 10));
    CHECK(spans[1].to == *sun.sunset - Seconds{2 * kH});
    // Sooner after sunset, later an end: without a limit the owner's hours stand.
    CHECK(spans_of(supply, local(0, 0), local(1, 0), 0)[1].to == local(0, 23));
}

TEST_CASE("open spans: hours entirely in the evening stand as the owner wrote them") {
    const auto supply = supply_of({{20 * kH, 22 * kH}});
    const auto spans = spans_of(supply, local(0, 0), local(1, 0), 2 * kH);
    REQUIRE(spans.size() == 1);
    CHECK(spans[0].from == local(0, 20));
    CHECK(spans[0].to == local(0, 22));
}

TEST_CASE("open spans: beyond the polar circle there may be no sunset to keep ahead of") {
    weather::Place north{78.0, 15.0, 10.0};
    const auto spans =
        open_spans(supply_of({{6 * kH, 22 * kH}}), TimeZone(), north, Seconds{2 * kH},
                   utc("2026-06-20T00:00:00Z"), utc("2026-06-21T00:00:00Z"));
    REQUIRE(spans.size() == 1);
    CHECK(total(spans) == Seconds{16 * kH});
}

TEST_CASE("open spans: in order, apart, inside of what was asked, over a year of whole days") {
    const auto supply = supply_of({{0, 5 * kH}, {5 * kH, 9 * kH}, {13 * kH, 24 * kH}});
    const WallTime from = utc("2026-01-01T12:34:56Z");
    const WallTime until = utc("2027-01-01T12:34:56Z");
    const auto spans =
        open_spans(supply, central_europe(), trial::place(), Seconds{5400}, from, until);
    CHECK(spans.size() > 1000);
    WallTime last = from;
    for (const Span& span : spans) {
        CHECK(span.from >= last);
        CHECK(span.to > span.from);
        last = span.to;
    }
    CHECK(last <= until);
}
