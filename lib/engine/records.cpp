#include "engine/records.hpp"

#include "base/check.hpp"

#include <array>
#include <cstddef>

namespace firstmow::engine {

namespace {

// In the order of the enumerations.
constexpr std::array<std::string_view, 4> kOutcomes = {"completed", "stopped", "interrupted",
                                                       "failed"};
constexpr std::array<std::string_view, 4> kVerdicts = {"run", "plan", "wait", "withhold"};
constexpr std::array<std::string_view, 6> kCauses = {"surface_dry", "puddling", "catch_cans",
                                                     "soil_probe",  "undone",   "set_back"};
constexpr std::array<std::string_view, 3> kSeverities = {"note", "warning", "alarm"};

template <class Enum, std::size_t N>
std::string_view key_of(const std::array<std::string_view, N>& keys, Enum value) {
    const auto index = static_cast<std::size_t>(value);
    CHECK(index < N);
    return keys[index];
}

template <class Enum, std::size_t N>
std::optional<Enum> by_key(const std::array<std::string_view, N>& keys, std::string_view key) {
    for (std::size_t i = 0; i < N; ++i)
        if (keys[i] == key) return static_cast<Enum>(i);
    return std::nullopt;
}

} // namespace

std::string_view key(Outcome outcome) {
    return key_of(kOutcomes, outcome);
}
std::string_view key(Verdict verdict) {
    return key_of(kVerdicts, verdict);
}
std::string_view key(Cause cause) {
    return key_of(kCauses, cause);
}
std::string_view key(Severity severity) {
    return key_of(kSeverities, severity);
}

std::optional<Outcome> outcome_by_key(std::string_view key) {
    return by_key<Outcome>(kOutcomes, key);
}
std::optional<Verdict> verdict_by_key(std::string_view key) {
    return by_key<Verdict>(kVerdicts, key);
}
std::optional<Cause> cause_by_key(std::string_view key) {
    return by_key<Cause>(kCauses, key);
}
std::optional<Severity> severity_by_key(std::string_view key) {
    return by_key<Severity>(kSeverities, key);
}

} // namespace firstmow::engine
