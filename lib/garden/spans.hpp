// Where the keys and values of a TOML text stand, byte by byte. Internal to the room: what changes
// a garden file's text (edit.hpp) cuts along these places.
//
// The text has passed parse_document(): this is no second judge of what is TOML, it only finds.
// Whoever cuts holds the result against the parser's word.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstmow::garden {

// A step into a document: a key, or an element of a list.
struct Step {
    std::string key;
    int index = -1; // of a list; -1: it is a key
    bool operator==(const Step&) const = default;
};
using Path = std::vector<Step>;

// KEY = VALUE. Bytes, [begin, end).
struct KeySpan {
    Path path;
    std::size_t key_begin = 0;
    std::size_t value_begin = 0;
    std::size_t value_end = 0;
    int table = 0;        // number of the header under which it stands
    bool braced = false;  // within braces or brackets: no line of its own
    bool comment = false; // the value holds one
};

// A header [name] or [[name]], or the beginning of the text (number 0).
struct TableSpan {
    Path path;
    std::size_t line_end = 0; // behind its line; of the first: where the text begins
};

struct Spans {
    std::vector<KeySpan> keys; // in the order of the text; a braced one before what holds it
    std::vector<TableSpan> tables;
};

// Nothing when the text holds more than this understands, or nests too deep.
std::optional<Spans> find_spans(std::string_view text);

} // namespace firstmow::garden
