// Values as JSON text. Numbers have fixed decimals (so that 0.1 + 0.2 reads 0.3) and are `null`
// when not finite; text that is not UTF-8 gets replacement characters.
#pragma once

#include "base/time.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace firstmow::tables {

std::string json_text(std::string_view text);
std::string json_number(double value, int decimals);
std::string json_time(WallTime time);
std::string json_time(const std::optional<WallTime>& time);

// Writes an object or array piece by piece: JsonWriter w; w.open('{'); w.member("a", ...).
class JsonWriter {
public:
    // Begins an object or array ('{' or '['), as the value of `name` when inside an object.
    JsonWriter& open(char bracket, std::string_view name = {});
    JsonWriter& close(); // the innermost
    // `json` is JSON already.
    JsonWriter& raw(std::string_view name, std::string_view json);
    JsonWriter& raw_item(std::string_view json);
    JsonWriter& text(std::string_view name, std::string_view value);
    JsonWriter& number(std::string_view name, double value, int decimals);
    JsonWriter& integer(std::string_view name, long long value);
    JsonWriter& boolean(std::string_view name, bool value);
    JsonWriter& time(std::string_view name, const std::optional<WallTime>& value);
    JsonWriter& null(std::string_view name) { return raw(name, "null"); }

    // The finished text; everything that was opened is closed.
    std::string take();

private:
    void comma();

    std::string out_;
    std::string closers_;
    bool first_ = true;
};

} // namespace firstmow::tables
