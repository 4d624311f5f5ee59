#include "store/codes.hpp"

#include "base/check.hpp"

#include <array>
#include <cstddef>

namespace firstmow::store {

namespace {

// In the order of weather::Origin.
constexpr std::string_view kOriginLetters = "mfea";

constexpr std::array<weather::Origin weather::Hour::*, 5> kOrigins = {
    &weather::Hour::temp_origin, &weather::Hour::humidity_origin, &weather::Hour::wind_origin,
    &weather::Hour::solar_origin, &weather::Hour::rain_origin};

} // namespace

std::optional<turf::Phase> phase_of(std::string_view key) {
    using turf::Phase;
    for (const Phase phase : {Phase::pre_germination, Phase::emergence, Phase::seedling,
                              Phase::post_first_mow, Phase::mature, Phase::rooting})
        if (turf::key(phase) == key) return phase;
    return std::nullopt;
}

std::string origin_letters(const weather::Hour& hour) {
    std::string letters;
    for (const auto origin : kOrigins) {
        const auto index = static_cast<std::size_t>(hour.*origin);
        CHECK(index < kOriginLetters.size());
        letters += kOriginLetters[index];
    }
    return letters;
}

bool take_origins(std::string_view letters, weather::Hour& hour) {
    if (letters.size() != kOrigins.size()) return false;
    for (std::size_t i = 0; i < kOrigins.size(); ++i) {
        const std::size_t index = kOriginLetters.find(letters[i]);
        if (index == std::string_view::npos) return false;
        hour.*kOrigins[i] = static_cast<weather::Origin>(index);
    }
    return true;
}

} // namespace firstmow::store
