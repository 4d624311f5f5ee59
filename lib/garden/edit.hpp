// Changing values in the text of a garden file, as its owner would by hand: comments, order,
// blanks, line breaks and every key that is not meant stay byte for byte.
//
// A change either comes out exactly or not at all: the new text is parsed again and must say what
// the old one said, but for the keys that were changed. Forms in which a key cannot be changed
// without touching more (a table of its own for what is to become a word, a key that holds escapes)
// are refused with a sentence. Whether the new text is a garden is for read() to say.
//
// Pure: text and changes in, text or a sentence out.
#pragma once

#include "base/result.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace firstmow::garden {

struct Change {
    std::string zone; // its id; empty: the whole garden
    std::string key;  // "area", "establishment.cover"; of the garden "supply.hours"
    std::optional<std::string>
        value; // as TOML writes it: "0.65", "[\"06:00-19:00\"]"; none: it goes
};

// Bounds: 64 changes, a value of 4 KiB.
Result<std::string> edit(std::string_view toml_text, std::span<const Change> changes);

// Any text as a TOML string on one line, quotes included.
std::string toml_string(std::string_view text);

// What may be changed while the daemon runs; key as in Change. Everything else of the file (valves,
// interlocks, places, who may come in) is for whoever has the machine.
struct Editable {
    enum class Kind { text, word, quantity, share, hours, days, cans, mix };
    std::string_view key;
    Kind kind;
    bool of_zone = true;
    bool required = false;
};
std::span<const Editable> editable();
const Editable* find_editable(bool of_zone, std::string_view key);

// How a file says one of these keys.
struct Said {
    std::string_view key; // of the list above
    std::string toml;     // the value as it stands; empty: absent
    std::string fixed;    // why it cannot be changed here, one sentence; empty: it can
    // The same as a value: a text, a number, a list of texts, or species with their shares.
    std::optional<std::string> text;
    std::optional<double> number;
    std::vector<std::string> texts;
    std::vector<std::pair<std::string, double>> shares;
    int line = 0; // 0: absent
};
struct SaidZone {
    std::string id;
    std::vector<Said> keys; // those of zones, in the order of editable()
};
struct SaidGarden {
    std::vector<Said> keys;
    std::vector<SaidZone> zones; // in the order of the file
};
// Of a text that read() takes.
Result<SaidGarden> what_is_said(std::string_view toml_text);

// A line that goes or comes, between two texts.
struct LineChange {
    int line = 0; // 1-based, in the old text where it goes, in the new one where it comes
    bool comes = false;
    std::string text; // without its line break
    bool operator==(const LineChange&) const = default;
};
// In order; what goes before what comes in its place.
std::vector<LineChange> line_changes(std::string_view before, std::string_view after);

} // namespace firstmow::garden
