// Reading one table of a garden file: every key that is missing, unknown, of the wrong type or
// out of range becomes an error at its place, and reading goes on. Internal to the room.
//
// The readers return nothing after such an error, and also when an optional key is absent; the
// caller then keeps its default. A garden with any error is thrown away as a whole.
#pragma once

#include "garden/document.hpp"
#include "garden/quantity.hpp"

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

class Errors {
public:
    void add(Spot spot, std::string message);
    bool empty() const { return errors_.empty(); }
    // By place in the file.
    std::vector<FileError> sorted() const;

private:
    std::vector<FileError> errors_;
};

struct Range {
    double low = 0;
    double high = 0;
};

// What a table may hold.
struct Field {
    std::string_view key;
    bool required = false;
    std::string_view example; // as the file would write it, key included
};

constexpr std::size_t kLongestName = 80;
constexpr std::size_t kLongestPath = 200;

class Fields {
public:
    // `table` is of kind table; `called` is what messages call it, such as "[site]". Reports
    // unknown and missing keys at once. `table`, `fields` and `errors` outlive the reader.
    Fields(const Node& table, std::string_view called, std::span<const Field> fields,
           Errors& errors);

    // The value of a key, of whatever type; null when absent.
    const Node* find(std::string_view key) const;

    // One printable line.
    std::optional<std::string> text(std::string_view key, std::size_t longest = kLongestName) const;
    std::optional<double> number(std::string_view key, Range range) const;
    std::optional<int> integer(std::string_view key, int low, int high) const;
    // The range is in the unit that the dimension is named by.
    std::optional<double> quantity(std::string_view key, Dimension dimension, Range range) const;
    // The index of the word among `words`.
    std::optional<std::size_t> word(std::string_view key,
                                    std::span<const std::string_view> words) const;
    std::optional<Date> date(std::string_view key) const;
    std::optional<bool> truth(std::string_view key) const;
    // Null also when it is not a list with something in it.
    const Node* list(std::string_view key) const;
    const Node* table(std::string_view key) const;

    // "KEY MESSAGE" at the value of a key that is present.
    void refuse(std::string_view key, std::string_view message) const;
    // "KEY is WRONG; RIGHT would be right: EXAMPLE" at `spot`, for an element of a list too.
    void refuse_type(const Node& node, std::string_view key, std::string_view right) const;

private:
    void refuse_unknown_keys();
    void refuse_missing_keys();
    std::string_view example(std::string_view key) const;
    const Node* find_of_kind(std::string_view key, Kind kind, std::string_view right) const;

    const Node& table_;
    std::string called_;
    std::span<const Field> fields_;
    Errors& errors_;
    // Known keys that an unknown one was taken for: not reported as missing as well.
    std::vector<std::string> meant_;
};

} // namespace firstmow::garden
