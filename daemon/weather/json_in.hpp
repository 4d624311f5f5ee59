// JSON from strangers, read with bounds. For the .cpp files of this room only.
#pragma once

#include <nlohmann/json.hpp>

#include <cmath>
#include <optional>
#include <string_view>

namespace firstmow::weather_source {

using Json = nlohmann::json;

// Discarded when it is not JSON. What is nested deeper than any weather is passed over, so that a
// text of brackets costs no more memory than its own length.
inline Json parse_bounded(std::string_view text, int deepest = 12) {
    return Json::parse(
        text.begin(), text.end(),
        [deepest](int depth, Json::parse_event_t event, const Json&) {
            const bool begins = event == Json::parse_event_t::object_start ||
                                event == Json::parse_event_t::array_start;
            return !begins || depth < deepest;
        },
        false);
}

// The member, or a null.
inline const Json& member(const Json& object, const char* key) {
    static const Json kNull;
    if (!object.is_object()) return kNull;
    const auto found = object.find(key);
    return found == object.end() ? kNull : *found;
}

// A finite number; nothing for null and anything else.
inline std::optional<double> number(const Json& value) {
    if (!value.is_number()) return std::nullopt;
    const double read = value.get<double>();
    if (!std::isfinite(read)) return std::nullopt;
    return read;
}

inline std::string_view text(const Json& value) {
    if (const auto* string = value.get_ptr<const Json::string_t*>()) return *string;
    return {};
}

} // namespace firstmow::weather_source
