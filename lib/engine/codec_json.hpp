// How the codec's values look in JSON. For the codec's own .cpp files only.
//
// Reading goes through Reader, which remembers the first thing that did not fit instead of
// throwing; after a failure every further read gives an empty value.
#pragma once

#include "base/time.hpp"

#include <nlohmann/json.hpp>

#include <cmath>
#include <optional>
#include <string>

namespace firstmow::engine {

using Json = nlohmann::ordered_json;

inline Json to_json_value(WallTime t) {
    return to_unix(t);
}
template <class T>
Json optional_json(const std::optional<T>& value) {
    return value ? to_json_value(*value) : Json(nullptr);
}

class Reader {
public:
    bool ok() const { return fault_.empty(); }
    const std::string& fault() const { return fault_; }
    void fail(const std::string& what) {
        if (fault_.empty()) fault_ = what;
    }

    const Json& at(const Json& object, const char* key) {
        static const Json kNothing;
        if (object.is_object())
            if (const auto found = object.find(key); found != object.end()) return *found;
        fail(std::string("'") + key + "' is missing");
        return kNothing;
    }
    // Whether it stands there: members that older text lacks are only read when it does.
    static bool has(const Json& object, const char* key) {
        return object.is_object() && object.contains(key);
    }
    double number(const Json& object, const char* key) {
        const Json& value = at(object, key);
        if (!value.is_number()) return wrong(key, 0.0);
        const double read = value.get<double>();
        return std::isfinite(read) ? read : wrong(key, 0.0);
    }
    std::int64_t integer(const Json& object, const char* key) {
        const Json& value = at(object, key);
        return value.is_number_integer() ? value.get<std::int64_t>() : wrong(key, std::int64_t{0});
    }
    bool boolean(const Json& object, const char* key) {
        const Json& value = at(object, key);
        return value.is_boolean() ? value.get<bool>() : wrong(key, false);
    }
    std::string text(const Json& object, const char* key) {
        const Json& value = at(object, key);
        return value.is_string() ? value.get<std::string>() : wrong(key, std::string{});
    }
    WallTime time(const Json& object, const char* key) {
        return wall_from_unix(integer(object, key));
    }
    std::optional<WallTime> maybe_time(const Json& object, const char* key) {
        if (at(object, key).is_null()) return std::nullopt;
        return time(object, key);
    }
    // An enumerator written as its number, 0..last.
    template <class Enum>
    Enum choice(const Json& object, const char* key, Enum last) {
        const std::int64_t value = integer(object, key);
        if (value < 0 || value > static_cast<std::int64_t>(last)) return wrong(key, Enum{});
        return static_cast<Enum>(value);
    }
    const Json& list(const Json& object, const char* key) {
        static const Json kEmpty = Json::array();
        const Json& value = at(object, key);
        if (value.is_array()) return value;
        fail(std::string("'") + key + "' is not a list");
        return kEmpty;
    }

private:
    template <class T>
    T wrong(const char* key, T instead) {
        fail(std::string("'") + key + "' has a value that does not fit");
        return instead;
    }
    std::string fault_;
};

} // namespace firstmow::engine
