#include "tables/json_text.hpp"

#include "base/check.hpp"
#include "base/text.hpp"

#include <nlohmann/json.hpp>

#include <cmath>
#include <utility>

namespace firstmow::tables {

std::string json_text(std::string_view text) {
    return nlohmann::json(std::string(text))
        .dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::string json_number(double value, int decimals) {
    if (!std::isfinite(value)) return "null";
    std::string digits = fixed(value, decimals);
    if (digits.find('.') != std::string::npos) {
        while (digits.back() == '0')
            digits.pop_back();
        if (digits.back() == '.') digits.pop_back();
    }
    return digits;
}

std::string json_time(WallTime time) {
    return '"' + to_iso8601(time) + '"';
}

std::string json_time(const std::optional<WallTime>& time) {
    return time ? json_time(*time) : "null";
}

void JsonWriter::comma() {
    if (!first_) out_ += ',';
    first_ = false;
}

JsonWriter& JsonWriter::open(char bracket, std::string_view name) {
    CHECK(bracket == '{' || bracket == '[');
    comma();
    if (!name.empty()) out_ += json_text(name) + ':';
    out_ += bracket;
    closers_ += bracket == '{' ? '}' : ']';
    first_ = true;
    return *this;
}

JsonWriter& JsonWriter::close() {
    CHECK(!closers_.empty());
    out_ += closers_.back();
    closers_.pop_back();
    first_ = false;
    return *this;
}

JsonWriter& JsonWriter::raw(std::string_view name, std::string_view json) {
    comma();
    out_ += '"';
    out_ += name;
    out_ += "\":";
    out_ += json;
    return *this;
}

JsonWriter& JsonWriter::raw_item(std::string_view json) {
    comma();
    out_ += json;
    return *this;
}

JsonWriter& JsonWriter::text(std::string_view name, std::string_view value) {
    return raw(name, json_text(value));
}
JsonWriter& JsonWriter::number(std::string_view name, double value, int decimals) {
    return raw(name, json_number(value, decimals));
}
JsonWriter& JsonWriter::integer(std::string_view name, long long value) {
    return raw(name, std::to_string(value));
}
JsonWriter& JsonWriter::boolean(std::string_view name, bool value) {
    return raw(name, value ? "true" : "false");
}
JsonWriter& JsonWriter::time(std::string_view name, const std::optional<WallTime>& value) {
    return raw(name, json_time(value));
}

std::string JsonWriter::take() {
    CHECK(closers_.empty());
    return std::exchange(out_, {});
}

} // namespace firstmow::tables
