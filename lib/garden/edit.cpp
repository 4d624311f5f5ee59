#include "garden/edit.hpp"

#include "garden/document.hpp"
#include "garden/spans.hpp"
#include "garden/wording.hpp"

#include <algorithm>
#include <utility>

namespace firstmow::garden {

namespace {

constexpr std::size_t kMostChanges = 64;
constexpr std::size_t kLongestValue = 4096;

// --- The two texts as documents ----------------------------------------------------------------

bool same(const Node& a, const Node& b);

bool same_entries(const std::vector<Entry>& a, const std::vector<Entry>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Entry& x, const Entry& y) {
        return x.key == y.key && same(x.value, y.value);
    });
}

bool same(const Node& a, const Node& b) {
    // nan is itself here; a date that is none holds anything.
    const bool number = a.number == b.number || (a.number != a.number && b.number != b.number);
    return a.kind == b.kind && a.text == b.text && number && a.truth == b.truth &&
           (a.kind != Kind::date || a.date == b.date) &&
           std::equal(a.items.begin(), a.items.end(), b.items.begin(), b.items.end(), same) &&
           same_entries(a.entries, b.entries);
}

Node* child(Node& node, const Step& step) {
    if (step.index >= 0)
        return static_cast<std::size_t>(step.index) < node.items.size()
                   ? &node.items[static_cast<std::size_t>(step.index)]
                   : nullptr;
    for (Entry& entry : node.entries)
        if (entry.key == step.key) return &entry.value;
    return nullptr;
}

Node* find(Node& root, const Path& path) {
    Node* at = &root;
    for (const Step& step : path) {
        at = child(*at, step);
        if (at == nullptr) return nullptr;
    }
    return at;
}

// Puts `value` where `path` leads, or takes away what is there.
bool put(Node& root, const Path& path, const Node* value) {
    Path holder_path = path;
    holder_path.pop_back();
    Node* const holder = find(root, holder_path);
    if (holder == nullptr || holder->kind != Kind::table) return false;
    auto& entries = holder->entries;
    const std::string& key = path.back().key;
    const auto at = std::find_if(entries.begin(), entries.end(),
                                 [&](const Entry& entry) { return entry.key == key; });
    if (value == nullptr) {
        if (at != entries.end()) entries.erase(at);
        return true;
    }
    if (at != entries.end()) {
        at->value = *value;
        return true;
    }
    const auto place = std::find_if(entries.begin(), entries.end(),
                                    [&](const Entry& entry) { return entry.key > key; });
    entries.insert(place, Entry{key, {}, *value});
    return true;
}

// --- Where to cut ------------------------------------------------------------------------------

bool begins_with(const Path& path, const Path& with) {
    return path.size() >= with.size() && std::equal(with.begin(), with.end(), path.begin());
}

std::string words_of(const Change& change) {
    return change.zone.empty() ? change.key : change.key + " of zone " + in_quotes(change.zone);
}

Error by_hand(const Change& change, const std::string& why) {
    return Error{words_of(change) + " " + why + "; change it in the file by hand"};
}

std::optional<Path> path_of(const Node& root, const Change& change) {
    Path path;
    if (!change.zone.empty()) {
        path = {{"zone", -1}, {"", -1}};
        for (const Entry& entry : root.entries)
            if (entry.key == "zone" && entry.value.kind == Kind::list)
                for (std::size_t i = 0; i < entry.value.items.size(); ++i)
                    for (const Entry& of_zone : entry.value.items[i].entries)
                        if (of_zone.key == "id" && of_zone.value.text == change.zone)
                            path[1].index = static_cast<int>(i);
        if (path[1].index < 0) return std::nullopt;
    }
    for (std::size_t from = 0; from <= change.key.size();) {
        const std::size_t dot = std::min(change.key.find('.', from), change.key.size());
        path.push_back({change.key.substr(from, dot - from), -1});
        from = dot + 1;
    }
    return path;
}

class Cutter {
public:
    Cutter(std::string_view text, const Spans& spans) : text_(text), spans_(spans) {}

    // The new text, or why not.
    Result<std::string> cut(const Change& change, const Path& path) const {
        for (const KeySpan& span : spans_.keys)
            if (span.path == path) {
                if (span.comment) return by_hand(change, "holds a comment among its values");
                return change.value ? with(span.value_begin, span.value_end, *change.value)
                                    : without(span);
            }
        const bool parts = std::any_of(spans_.keys.begin(), spans_.keys.end(),
                                       [&](const KeySpan& s) { return begins_with(s.path, path); });
        const bool headed =
            std::any_of(spans_.tables.begin(), spans_.tables.end(),
                        [&](const TableSpan& t) { return begins_with(t.path, path); });
        if (parts || headed)
            return by_hand(change, "is written as a table of its own, over several lines");
        if (!change.value) return std::string(text_);
        return added(change, path);
    }

private:
    std::string with(std::size_t begin, std::size_t end, std::string_view instead) const {
        return std::string(text_.substr(0, begin)) + std::string(instead) +
               std::string(text_.substr(end));
    }
    std::size_t line_begin(std::size_t at) const {
        const std::size_t before = at == 0 ? std::string_view::npos : text_.rfind('\n', at - 1);
        return before == std::string_view::npos ? 0 : before + 1;
    }
    // Behind the line break, or the end of the text.
    std::size_t line_end(std::size_t at) const {
        const std::size_t end = text_.find('\n', at);
        return end == std::string_view::npos ? text_.size() : end + 1;
    }

    // A line of its own goes whole; a comment behind it stays. Between braces a comma goes with it.
    std::string without(const KeySpan& span) const {
        if (span.braced) return without_braced(span);
        const std::size_t begin = line_begin(span.key_begin);
        const std::size_t end = line_end(span.value_end);
        const std::size_t comment = text_.find_first_not_of(" \t", span.value_end);
        if (comment < end && text_[comment] == '#') return with(span.key_begin, comment, "");
        return with(begin, end, "");
    }
    std::string without_braced(const KeySpan& span) const {
        const std::size_t before = text_.find_last_not_of(" \t", span.key_begin - 1);
        if (text_[before] == ',') return with(before, span.value_end, "");
        const std::size_t after = text_.find_first_not_of(" \t", span.value_end);
        if (text_[after] != ',') return with(span.key_begin, span.value_end, "");
        return with(span.key_begin,
                    std::min(text_.find_first_not_of(" \t", after + 1), text_.size()), "");
    }

    std::string line_break() const {
        const std::size_t first = text_.find('\n');
        const bool both = first != std::string_view::npos && first > 0 && text_[first - 1] == '\r';
        return both ? "\r\n" : "\n";
    }

    // How far down the usual order of a garden file a key stands.
    static std::size_t rank(const Path& path, std::size_t from) {
        std::string key;
        for (std::size_t i = from; i < path.size(); ++i)
            key += (key.empty() ? "" : ".") + path[i].key;
        const auto all = editable();
        const auto found =
            std::find_if(all.begin(), all.end(), [&](const Editable& e) { return e.key == key; });
        return static_cast<std::size_t>(found - all.begin());
    }

    Result<std::string> added(const Change& change, const Path& path) const {
        Path holder = path;
        holder.pop_back();
        const std::string statement = path.back().key + " = " + *change.value;
        // Between the braces that hold its neighbours.
        for (const KeySpan& span : spans_.keys)
            if (span.path == holder) {
                if (text_[span.value_begin] != '{') return by_hand(change, "has no place there");
                return into_braces(span, statement);
            }
        // Zones as a list in brackets: their braces have no key.
        for (auto span = spans_.keys.rbegin(); span != spans_.keys.rend(); ++span)
            if (span->braced && span->path.size() == holder.size() + 1 &&
                begins_with(span->path, holder))
                return with(span->value_end, span->value_end, ", " + statement);
        // Under the header of its table, or beside dotted keys of that table.
        for (std::size_t table = 0; table < spans_.tables.size(); ++table)
            if (spans_.tables[table].path == holder && (table > 0 || holder.empty()))
                return under(static_cast<int>(table), path, statement);
        for (auto span = spans_.keys.rbegin(); span != spans_.keys.rend(); ++span) {
            const Path& header = spans_.tables[static_cast<std::size_t>(span->table)].path;
            if (span->braced || !begins_with(span->path, holder) || header.size() >= holder.size())
                continue;
            std::string dotted;
            for (std::size_t i = header.size(); i < holder.size(); ++i)
                dotted += holder[i].key + ".";
            return behind(*span, dotted + statement);
        }
        return by_hand(change, "belongs to a table that the file does not have");
    }

    std::string into_braces(const KeySpan& holder, const std::string& statement) const {
        const std::size_t close = holder.value_end - 1;
        const std::size_t last = text_.find_last_not_of(" \t", close - 1);
        if (text_[last] == '{') return with(last + 1, close, " " + statement + " ");
        return with(last + 1, last + 1, ", " + statement);
    }

    // As a line behind the neighbour that comes before it in the usual order.
    std::string under(int table, const Path& path, const std::string& statement) const {
        const KeySpan* before = nullptr;
        const KeySpan* last = nullptr;
        const std::size_t from = path[0].key == "zone" ? 2 : 0;
        const std::size_t own = rank(path, from);
        for (const KeySpan& span : spans_.keys) {
            if (span.braced || span.table != table) continue;
            last = &span;
            if (rank(span.path, from) < own || (before == nullptr && span.path.back().key == "id"))
                before = &span;
        }
        if (before != nullptr) return behind(*before, statement);
        if (last != nullptr) return behind(*last, statement);
        const std::size_t at = spans_.tables[static_cast<std::size_t>(table)].line_end;
        return on_a_line(at, "", statement);
    }
    std::string behind(const KeySpan& span, const std::string& statement) const {
        const std::size_t begin = line_begin(span.key_begin);
        const std::string_view indent = text_.substr(begin, span.key_begin - begin);
        return on_a_line(line_end(span.value_end), indent, statement);
    }
    std::string on_a_line(std::size_t at, std::string_view indent,
                          const std::string& statement) const {
        const bool open = at > 0 && text_[at - 1] != '\n'; // the text ends without a line break
        return with(at, at,
                    (open ? line_break() : "") + std::string(indent) + statement +
                        (open ? "" : line_break()));
    }

    std::string_view text_;
    const Spans& spans_;
};

// The value alone, as a document would have it; nothing when it is no single value.
std::optional<Node> value_of(const std::string& toml) {
    if (toml.size() > kLongestValue || toml.find_first_of("\r\n") != std::string::npos)
        return std::nullopt;
    // Between braces, where a comment or a second key would show.
    auto parsed = parse_document("v = { x = " + toml + " }\n");
    auto* const root = std::get_if<Node>(&parsed);
    if (root == nullptr || root->entries.size() != 1) return std::nullopt;
    auto& held = root->entries.front().value.entries;
    if (held.size() != 1) return std::nullopt;
    return std::move(held.front().value);
}

Result<std::string> edit_one(const std::string& text, const Change& change) {
    std::optional<Node> value;
    if (change.value) {
        value = value_of(*change.value);
        if (!value) return Error{words_of(change) + " is to be what is no value on one line"};
    }
    auto parsed = parse_document(text);
    if (const auto* error = std::get_if<FileError>(&parsed))
        return Error{"the garden file cannot be changed while it has errors (line " +
                     std::to_string(error->line) + ": " + error->message + ")"};
    Node& wanted = std::get<Node>(parsed);
    const auto path = path_of(wanted, change);
    if (!path) return Error{"the garden file has no zone " + in_quotes(change.zone)};
    const auto spans = find_spans(text);
    if (!spans) return by_hand(change, "stands in a file whose keys hold quotes or escapes");
    auto cut = Cutter(text, *spans).cut(change, *path);
    if (!cut) return cut;
    // The judge of it all: the new text says what the old one said, and the change.
    if (!put(wanted, *path, value ? &*value : nullptr))
        return by_hand(change, "belongs to a table that the file does not have");
    auto after = parse_document(*cut);
    const Node* const got = std::get_if<Node>(&after);
    if (got == nullptr || !same(*got, wanted))
        return by_hand(change, "cannot be changed without touching more than it");
    return cut;
}

} // namespace

Result<std::string> edit(std::string_view toml_text, std::span<const Change> changes) {
    if (changes.size() > kMostChanges)
        return Error{"these are more than " + std::to_string(kMostChanges) + " changes at once"};
    std::string text(toml_text);
    for (const Change& change : changes) {
        auto next = edit_one(text, change);
        if (!next) return next;
        text = std::move(*next);
    }
    return text;
}

std::string toml_string(std::string_view text) {
    constexpr char kHex[] = "0123456789ABCDEF";
    std::string quoted = "\"";
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\') {
            quoted += '\\';
            quoted += c;
        } else if (byte < 0x20 || byte == 0x7f) {
            quoted += "\\u00";
            quoted += kHex[byte >> 4U];
            quoted += kHex[byte & 0xFU];
        } else {
            quoted += c;
        }
    }
    return quoted + "\"";
}

} // namespace firstmow::garden
