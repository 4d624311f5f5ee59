#include "weather/desk_codec.hpp"

#undef CHECK
#include <doctest/doctest.h>

namespace firstmow::weather_source {

namespace {

constexpr weather::Place kPlace{41.9, -93.6, 290};
const WallTime kStart = parse_iso8601("2026-08-22T00:00:00Z").value();

weather::Desk filled() {
    weather::Desk desk(kPlace, {{"yard", true}, {"far", false}}, kStart);
    weather::Parcel measured{1, weather::ParcelKind::measured, kStart, {}};
    weather::Parcel forecast{2, weather::ParcelKind::forecast, kStart, {}};
    for (int h = 0; h < 30; ++h) {
        weather::Reading r;
        r.start = kStart + std::chrono::hours{h};
        r.air_temp_c = h == 7 ? 71 : 15 + h % 9;
        if (h % 3) r.rain_mm = 0.1 * h;
        if (h % 4) r.soil_temp_c = 16.5;
        if (h < 10) measured.readings.push_back(r);
        r.rain_probability = 0.4;
        forecast.readings.push_back(r);
    }
    forecast.coarse_from = kStart + std::chrono::hours{20};
    desk.take(measured, kStart + std::chrono::hours{10});
    desk.take(forecast, kStart + std::chrono::hours{10});
    (void)desk.look(kStart + std::chrono::hours{10});
    return desk;
}

} // namespace

TEST_CASE("desk: what it remembers survives as text") {
    const weather::Desk desk = filled();
    REQUIRE_FALSE(desk.state().sources[0].flags.empty());
    const std::string text = encode_desk(desk.state(), desk.sources());
    const auto back = decode_desk(text, desk.sources());
    REQUIRE_MESSAGE(back.ok(), (back ? "" : back.error().message));
    CHECK(encode_desk(*back, desk.sources()) == text);
    CHECK(back->sources == desk.state().sources);
    CHECK(back->blended == desk.state().blended);
    CHECK(text.size() < 20'000);
}

TEST_CASE("desk: what was kept before there were soil temperatures is taken up") {
    weather::Desk desk(kPlace, {{"yard", true}}, kStart);
    weather::Reading r;
    r.start = kStart;
    r.cloud_fraction = 0.25;
    r.rain_probability = 0.5;
    desk.take({1, weather::ParcelKind::forecast, kStart, {r}}, kStart);
    std::string text = encode_desk(desk.state(), desk.sources());
    const std::string now = "0.25,null,0.5]";
    const auto at = text.find(now);
    REQUIRE(at != std::string::npos);
    text.replace(at, now.size(), "0.25,0.5]");
    const auto back = decode_desk(text, desk.sources());
    REQUIRE(back.ok());
    CHECK(back->sources == desk.state().sources);
}

TEST_CASE("desk: text of another list, or of nobody's, is not taken up") {
    const weather::Desk desk = filled();
    const std::string text = encode_desk(desk.state(), desk.sources());
    const weather::Desk other(kPlace, {{"yard", true}, {"near", false}}, kStart);
    CHECK_FALSE(decode_desk(text, other.sources()).ok());
    CHECK_FALSE(decode_desk("", desk.sources()).ok());
    for (std::size_t cut = 0; cut < text.size(); cut += 37)
        CHECK_FALSE(decode_desk(text.substr(0, cut), desk.sources()).ok());
}

} // namespace firstmow::weather_source
