// A TOML text as a tree of plain values, each with its place. Internal to the room: the rest of
// it reads this tree and never sees the parser.
//
// Bounds: the text is at most 256 KiB, values nest at most eight deep; more is an error of the
// file. Numbers may still be nan or infinite, as TOML allows; text is valid UTF-8.
#pragma once

#include "base/time.hpp"
#include "garden/read.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace firstmow::garden {

// 1-based, columns in characters.
struct Spot {
    int line = 1;
    int column = 1;
};

enum class Kind : std::uint8_t { text, integer, decimal, truth, date, time, list, table };
// "text", "a whole number", ...
std::string_view name(Kind kind);

struct Entry;

struct Node {
    Spot spot;
    Kind kind = Kind::table;
    std::string text;           // text
    double number = 0;          // integer and decimal
    bool truth = false;         // truth
    Date date;                  // date; a day that exists
    std::vector<Node> items;    // list
    std::vector<Entry> entries; // table, by key

    bool is_number() const { return kind == Kind::integer || kind == Kind::decimal; }
};

struct Entry {
    std::string key;
    Spot spot;
    Node value;
};

// The root table, or the one error that ended the parsing.
std::variant<Node, FileError> parse_document(std::string_view toml_text);

} // namespace firstmow::garden
