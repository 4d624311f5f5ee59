// Rows of numbers in JSON. For the codec's own .cpp files only.
#pragma once

#include "engine/codec_json.hpp"

#include <array>
#include <string>
#include <vector>

namespace firstmow::engine {

template <std::size_t N>
Json values_json(const std::array<double, N>& values, int count) {
    Json list = Json::array();
    for (int i = 0; i < count; ++i)
        list.push_back(values[static_cast<std::size_t>(i)]);
    return list;
}

inline std::vector<double> read_numbers(Reader& r, const Json& object, const char* key) {
    std::vector<double> numbers;
    for (const Json& value : r.list(object, key)) {
        if (!value.is_number() || !std::isfinite(value.get<double>())) {
            r.fail(std::string("'") + key + "' holds something that is no number");
            return {};
        }
        numbers.push_back(value.get<double>());
    }
    return numbers;
}

template <std::size_t N>
std::array<double, N> read_values(Reader& r, const Json& object, const char* key, int count) {
    std::array<double, N> values{};
    const Json& list = r.list(object, key);
    if (list.size() != static_cast<std::size_t>(count)) {
        r.fail(std::string("'") + key + "' has not as many layers as the zone");
        return values;
    }
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (!list[i].is_number() || !std::isfinite(list[i].get<double>())) {
            r.fail(std::string("'") + key + "' holds something that is no number");
            return values;
        }
        values[i] = list[i].get<double>();
    }
    return values;
}

} // namespace firstmow::engine
