#include "garden/fields.hpp"

#include "base/check.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

namespace firstmow::garden {

namespace {

// "nan" and "inf" as TOML writes them.
std::string as_written(double number) {
    if (std::isnan(number)) return "nan";
    if (std::isinf(number)) return number < 0 ? "-inf" : "inf";
    return plain(number);
}

// The unit that a dimension is named by, as messages write it.
std::string_view own_unit(Dimension dimension) {
    const std::string_view units = units_of(dimension);
    return units.substr(0, std::min(units.find(", "), units.find(" or ")));
}

} // namespace

void Errors::add(Spot spot, std::string message) {
    errors_.push_back({spot.line, spot.column, std::move(message)});
}

std::vector<FileError> Errors::sorted() const {
    std::vector<FileError> errors = errors_;
    std::stable_sort(errors.begin(), errors.end(), [](const FileError& a, const FileError& b) {
        return std::tie(a.line, a.column) < std::tie(b.line, b.column);
    });
    return errors;
}

Fields::Fields(const Node& table, std::string_view called, std::span<const Field> fields,
               Errors& errors)
    : table_(table), called_(called), fields_(fields), errors_(errors) {
    CHECK(table.kind == Kind::table);
    refuse_unknown_keys();
    refuse_missing_keys();
}

void Fields::refuse_unknown_keys() {
    std::vector<std::string_view> known;
    for (const Field& field : fields_)
        known.push_back(field.key);
    for (const Entry& entry : table_.entries) {
        if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
        if (const auto meant = near_word(entry.key, known)) meant_.push_back(*meant);
        errors_.add(entry.spot, called_ + " has no key " + in_quotes(entry.key) + "; " +
                                    hint(entry.key, known));
    }
}

void Fields::refuse_missing_keys() {
    for (const Field& field : fields_) {
        if (!field.required || find(field.key) != nullptr) continue;
        if (std::find(meant_.begin(), meant_.end(), field.key) != meant_.end()) continue;
        errors_.add(table_.spot, called_ + " lacks \"" + std::string(field.key) +
                                     "\"; write, for example, " + std::string(field.example));
    }
}

std::string_view Fields::example(std::string_view key) const {
    for (const Field& field : fields_)
        if (field.key == key) return field.example;
    CHECK(false);
    return {};
}

const Node* Fields::find(std::string_view key) const {
    for (const Entry& entry : table_.entries)
        if (entry.key == key) return &entry.value;
    return nullptr;
}

void Fields::refuse(std::string_view key, std::string_view message) const {
    const Node* const node = find(key);
    CHECK(node != nullptr);
    errors_.add(node->spot, std::string(key) + " " + std::string(message));
}

void Fields::refuse_type(const Node& node, std::string_view key, std::string_view right) const {
    errors_.add(node.spot, std::string(key) + " is " + std::string(name(node.kind)) + "; " +
                               std::string(right) +
                               " would be right: " + std::string(example(key)));
}

const Node* Fields::find_of_kind(std::string_view key, Kind kind, std::string_view right) const {
    const Node* const node = find(key);
    if (node == nullptr || node->kind == kind) return node;
    refuse_type(*node, key, right);
    return nullptr;
}

std::optional<std::string> Fields::text(std::string_view key, std::size_t longest) const {
    const Node* const node = find_of_kind(key, Kind::text, "text in quotes");
    if (node == nullptr) return std::nullopt;
    if (const auto fault = unprintable(node->text, longest)) {
        refuse(key, *fault + "; one line of 1 to " + std::to_string(longest) +
                        " printable characters would be right");
        return std::nullopt;
    }
    return node->text;
}

std::optional<double> Fields::number(std::string_view key, Range range) const {
    const Node* const node = find(key);
    if (node == nullptr) return std::nullopt;
    if (!node->is_number()) {
        refuse_type(*node, key, "a number without quotes");
        return std::nullopt;
    }
    // Written so that nan fails too.
    if (!(node->number >= range.low && node->number <= range.high)) {
        refuse(key, "is " + as_written(node->number) + "; a number from " + plain(range.low) +
                        " to " + plain(range.high) + " would be right");
        return std::nullopt;
    }
    return node->number;
}

std::optional<int> Fields::integer(std::string_view key, int low, int high) const {
    const Node* const node = find_of_kind(key, Kind::integer, "a whole number without quotes");
    if (node == nullptr) return std::nullopt;
    if (node->number < low || node->number > high) {
        refuse(key, "is " + as_written(node->number) + "; a whole number from " +
                        std::to_string(low) + " to " + std::to_string(high) + " would be right");
        return std::nullopt;
    }
    return static_cast<int>(node->number);
}

std::optional<double> Fields::quantity(std::string_view key, Dimension dimension,
                                       Range range) const {
    const Node* const node = find(key);
    if (node == nullptr) return std::nullopt;
    if (node->is_number()) {
        refuse(key, "is the bare number " + as_written(node->number) +
                        "; a number with its unit (" + std::string(units_of(dimension)) +
                        ") in quotes would be right: " + std::string(example(key)));
        return std::nullopt;
    }
    if (node->kind != Kind::text) {
        refuse_type(*node, key, "a number with its unit in quotes");
        return std::nullopt;
    }
    const Result<double> value = parse_quantity(node->text, dimension);
    if (!value) {
        refuse(key, value.error().message + ": " + std::string(example(key)));
        return std::nullopt;
    }
    if (*value < range.low || *value > range.high) {
        const std::string unit(own_unit(dimension));
        refuse(key, "is " + in_quotes(node->text) + "; from " + plain(range.low) + " to " +
                        plain(range.high) + " " + unit + " would be right");
        return std::nullopt;
    }
    return *value;
}

std::optional<std::size_t> Fields::word(std::string_view key,
                                        std::span<const std::string_view> words) const {
    const Node* const node = find_of_kind(key, Kind::text, "a word in quotes");
    if (node == nullptr) return std::nullopt;
    const auto found = std::find(words.begin(), words.end(), node->text);
    if (found == words.end()) {
        refuse(key, in_quotes(node->text) + " is unknown; " + hint(node->text, words));
        return std::nullopt;
    }
    return static_cast<std::size_t>(found - words.begin());
}

std::optional<Date> Fields::date(std::string_view key) const {
    const Node* const node = find_of_kind(key, Kind::date, "a date without quotes");
    if (node == nullptr) return std::nullopt;
    constexpr std::chrono::year kFirst{2000};
    constexpr std::chrono::year kLast{2099};
    if (node->date.year() < kFirst || node->date.year() > kLast) {
        refuse(key, "is " + to_string(node->date) +
                        "; a date from 2000-01-01 to 2099-12-31 would be right");
        return std::nullopt;
    }
    return node->date;
}

std::optional<bool> Fields::truth(std::string_view key) const {
    const Node* const node = find_of_kind(key, Kind::truth, "true or false without quotes");
    if (node == nullptr) return std::nullopt;
    return node->truth;
}

const Node* Fields::list(std::string_view key) const {
    const Node* const node = find_of_kind(key, Kind::list, "a list in square brackets");
    if (node == nullptr || !node->items.empty()) return node;
    refuse(key,
           "is an empty list; at least one entry would be right: " + std::string(example(key)));
    return nullptr;
}

const Node* Fields::table(std::string_view key) const {
    return find_of_kind(key, Kind::table, "a table");
}

} // namespace firstmow::garden
