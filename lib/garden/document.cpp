#include "garden/document.hpp"

#include "base/check.hpp"
#include "garden/wording.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <exception>
#include <optional>
#include <utility>

namespace firstmow::garden {

namespace {

constexpr std::size_t kMostKib = 256;
// The parser bounds nested values (256) but not dotted keys ("a.a.a..."), and the tree of a long
// one overflows the stack when it is taken down. So dots are bounded before parsing.
constexpr int kMostDotsInLine = 32;
constexpr int kDeepest = 8;

// Thrown while the tree is copied, caught in parse_document.
struct TooDeep {
    Spot spot;
};

Spot spot_of(const toml::source_region& region) {
    return {std::max(1, static_cast<int>(region.begin.line)),
            std::max(1, static_cast<int>(region.begin.column))};
}

std::optional<FileError> fault_before_parsing(std::string_view text) {
    if (text.size() > kMostKib * 1024)
        return FileError{1, 1,
                         "the file is longer than " + std::to_string(kMostKib) +
                             " KiB; a garden file is a few KiB of text"};
    int line = 1;
    int dots = 0;
    for (const char c : text) {
        if (c == '\n') {
            ++line;
            dots = 0;
        } else if (c == '.' && ++dots > kMostDotsInLine) {
            return FileError{line, 1,
                             "the line has more than " + std::to_string(kMostDotsInLine) +
                                 " dots; fewer would be right, even in a comment"};
        }
    }
    return std::nullopt;
}

Node copy(const toml::node& from, int depth);

void copy_children(const toml::node& from, int depth, Node& node) {
    if (const toml::array* const array = from.as_array()) {
        for (const toml::node& item : *array)
            node.items.push_back(copy(item, depth + 1));
    } else if (const toml::table* const table = from.as_table()) {
        for (auto&& [key, value] : *table)
            node.entries.push_back(
                {std::string(key.str()), spot_of(key.source()), copy(value, depth + 1)});
    }
}

Node copy(const toml::node& from, int depth) {
    Node node;
    node.spot = spot_of(from.source());
    if (depth > kDeepest) throw TooDeep{node.spot};
    switch (from.type()) {
    case toml::node_type::string:
        node.kind = Kind::text;
        node.text = from.as_string()->get();
        break;
    case toml::node_type::integer:
        node.kind = Kind::integer;
        node.number = static_cast<double>(from.as_integer()->get());
        break;
    case toml::node_type::floating_point:
        node.kind = Kind::decimal;
        node.number = from.as_floating_point()->get();
        break;
    case toml::node_type::boolean:
        node.kind = Kind::truth;
        node.truth = from.as_boolean()->get();
        break;
    case toml::node_type::date: {
        const toml::date& date = from.as_date()->get();
        node.kind = Kind::date;
        node.date = Date{std::chrono::year{date.year}, std::chrono::month{date.month},
                         std::chrono::day{date.day}};
        CHECK(node.date.ok());
        break;
    }
    case toml::node_type::time:
    case toml::node_type::date_time:
        node.kind = Kind::time;
        break;
    case toml::node_type::array:
        node.kind = Kind::list;
        copy_children(from, depth, node);
        break;
    case toml::node_type::table:
        node.kind = Kind::table;
        copy_children(from, depth, node);
        break;
    case toml::node_type::none:
        CHECK(false);
    }
    return node;
}

FileError syntax_error(Spot spot, std::string_view description) {
    // The parser's own sentence is longer than what `in_quotes` keeps, but it may echo the file.
    std::string message;
    for (const char c : description.substr(0, 200))
        message += c >= ' ' && c <= '~' ? c : '?';
    return {spot.line, spot.column,
            "this is not TOML: " + message +
                "; lines of the form key = value, text in quotes, would be right"};
}

} // namespace

std::string_view name(Kind kind) {
    switch (kind) {
    case Kind::text:
        return "text";
    case Kind::integer:
        return "a whole number";
    case Kind::decimal:
        return "a number";
    case Kind::truth:
        return "true or false";
    case Kind::date:
        return "a date";
    case Kind::time:
        return "a time";
    case Kind::list:
        return "a list";
    case Kind::table:
        return "a table";
    }
    CHECK(false);
    return {};
}

std::variant<Node, FileError> parse_document(std::string_view toml_text) {
    if (const auto fault = fault_before_parsing(toml_text)) return *fault;
    try {
        const toml::table root = toml::parse(toml_text, std::string_view{"garden"});
        Node node = copy(root, 0);
        node.spot = {1, 1};
        return node;
    } catch (const toml::parse_error& error) {
        return syntax_error(spot_of(error.source()), error.description());
    } catch (const TooDeep& deep) {
        return FileError{deep.spot.line, deep.spot.column,
                         "values are nested more than " + std::to_string(kDeepest) +
                             " deep; a garden file needs no more than four"};
    } catch (const std::exception& error) {
        return syntax_error({1, 1}, error.what());
    }
}

} // namespace firstmow::garden
